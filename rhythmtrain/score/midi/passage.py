"""A part of a MIDI file as a passage: exact places, bars, tempi, pitches and landmarks.

Where a note stands comes from ``places`` or, for a file that was played, from whoever wrote it
down; until when it is written to sound, from ``ends``.
"""

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import zip_longest

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.score.midi.bars import SAME_SPEED, MidiBar, bar_speeds, midi_bars
from rhythmtrain.score.midi.clock import MidiClock
from rhythmtrain.score.midi.ends import PartNote, part_notes
from rhythmtrain.score.midi.file import MidiFile
from rhythmtrain.score.midi.parts import MidiPart
from rhythmtrain.score.naming import every_beat_named
from rhythmtrain.score.passage import Bar, Kind, Passage, Place, TempoMark
from rhythmtrain.score.tempo import beats_a_minute, quarters_a_minute
from rhythmtrain.units import SLOWEST_BPM, Bpm, checked_tempo

LONGEST_END = 64
US_A_MINUTE = 60e6


def midi_passage(
    file: MidiFile,
    part: MidiPart,
    places: Sequence[Fraction],
    *,
    title: str,
    until: Fraction | None = None,
    cuts: Sequence[Fraction] = (),
) -> Passage:
    """Return ``part`` as a passage; ``places`` says where each of its notes is written.

    Places are in quarters from tick 0, one for each note of ``part.notes``.  Bars are numbered
    from 1, an upbeat is 0; they go on until ``until`` quarters, or until the part ends.  A bar in which the
    tempo changes is told in pieces between the part's onsets, and the places ``cuts`` of another part.

    Raises:
        FileError: more bars than a passage has, or a tempo that nobody plays.
    """
    clock = file.clock(part.track)
    notes = part_notes(part, places, clock)
    metres = [
        (clock.quarter(tick), metre)
        for track in file.beside(part.track)
        for tick, metre in track.metres
    ]
    stop = part_end(file, part, places) if until is None else until
    lines = midi_bars(sorted(metres, key=lambda each: each[0]), stop, name=file.name)
    bars = _with_landmarks(tuple(_bars(lines, notes, clock, (file.name, cuts))), lines, file, part)
    opening = bars[0].tempo or TempoMark(Bpm(SLOWEST_BPM))
    bars = every_beat_named((replace(bars[0], tempo=None), *bars[1:]))
    return Passage(title, opening.bpm, bars)


def part_end(file: MidiFile, part: MidiPart, places: Sequence[Fraction]) -> Fraction:
    """Return where the last note of ``part`` is written to end, in quarters from tick 0."""
    last = part_notes(part, places, file.clock(part.track))[-1]
    return min(last.end, last.at + LONGEST_END)


def _bars(
    lines: tuple[MidiBar, ...],
    notes: list[PartNote],
    clock: MidiClock,
    beside: tuple[str, Sequence[Fraction]],
) -> Iterator[Bar]:
    """Yield the bars, or the pieces of bars between which the tempo changes."""
    name, cuts = beside
    speed, sounding = 0.0, False
    events = _events(notes)
    for line in lines:
        inside = [events.pop() for _ in range(_before(events, line.stop))]
        onsets = [at for at, kind, _ in inside if kind is Kind.PLAYED]
        onsets += [at for at in cuts if line.start < at < line.stop]
        for start, stop, quarters in bar_speeds(line, clock, onsets):
            places = tuple(_places(line, [each for each in inside if start <= each[0] < stop]))
            at = start - line.start + line.begins
            if sounding and not (places and places[0].at == at):
                places = (Place(at, Kind.HELD), *places)
            turns = [place.kind for place in places if place.kind is not Kind.HELD]
            sounding = turns[-1] is Kind.PLAYED if turns else sounding
            if all(place.kind is Kind.SILENT for place in places):
                places = ()
            mark = None
            if abs(quarters / (speed or SLOWEST_BPM) - 1) >= SAME_SPEED:
                mark, speed = TempoMark(_tempo(quarters, line, name)), quarters
            ends = at + stop - start
            yield Bar(line.number, line.metre, places, at, ends, tempo=mark)


def _before(events: list[tuple[Fraction, Kind, tuple[int, ...]]], stop: Fraction) -> int:
    """Return how many events come before ``stop``; the earliest is last in the list."""
    count = 0
    while count < len(events) and events[-1 - count][0] < stop:
        count += 1
    return count


def _events(notes: list[PartNote]) -> list[tuple[Fraction, Kind, tuple[int, ...]]]:
    """Return where notes begin and where silence does, the earliest last."""
    events: list[tuple[Fraction, Kind, tuple[int, ...]]] = []
    for note, following in zip_longest(notes, notes[1:]):
        events.append((note.at, Kind.PLAYED, note.pitches))
        if following is None or note.end < following.at:
            events.append((note.end, Kind.SILENT, ()))
    return events[::-1]


def _places(line: MidiBar, inside: list[tuple[Fraction, Kind, tuple[int, ...]]]) -> Iterator[Place]:
    for at, kind, pitches in inside:
        yield Place(at - line.start + line.begins, kind, pitches=pitches)


def _tempo(quarters: float, line: MidiBar, name: str) -> Bpm:
    """Return the tempo of ``quarters`` a minute in beats of the bar.

    A file's tempo is in whole microseconds; the plainest number that rounds to them is meant.
    """
    try:
        bpm = checked_tempo(beats_a_minute(quarters, line.metre))
    except RequestError as error:
        raise FileError(f"{name}, bar {line.number}: {error}") from error
    for digits in range(4):
        neat = Bpm(round(bpm, digits))
        if abs(US_A_MINUTE / quarters_a_minute(neat, line.metre) - US_A_MINUTE / quarters) < 1:
            return neat
    return bpm


def _with_landmarks(
    bars: tuple[Bar, ...], lines: tuple[MidiBar, ...], file: MidiFile, part: MidiPart
) -> tuple[Bar, ...]:
    """Return ``bars`` with the file's markers, each at the beginning of its bar."""
    clock = file.clock(part.track)
    words: dict[int, list[str]] = {}
    starts = [line.start for line in lines]
    for track in file.beside(part.track):
        for tick, text in track.markers:
            index = bisect_right(starts, clock.quarter(tick)) - 1
            words.setdefault(lines[index].number, []).append(text)
    found = []
    for bar in bars:
        said = words.pop(bar.number, [])
        found.append(replace(bar, landmarks=tuple(said)))
    return tuple(found)
