"""A part of a score as a passage: its bars, tune, tempi, landmarks, and the cue beside it.

Repeats with a first and a second time stay repeats.  What a passage has no signs for (jumps to a sign,
endings past the second) is written out in the order it is played, and that is said.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import PurePosixPath

from rhythmtrain.errors import FileError
from rhythmtrain.score.cue_part import CueLine
from rhythmtrain.score.musicxml.cue import cue_notes
from rhythmtrain.score.musicxml.document import Part, Score
from rhythmtrain.score.musicxml.lines import Line, lines_of
from rhythmtrain.score.musicxml.order import BarSigns, bar_signs, comes_from, order_played
from rhythmtrain.score.musicxml.places import places_of
from rhythmtrain.score.musicxml.printed_beams import beams_in
from rhythmtrain.score.musicxml.repeat_signs import with_repeat_signs
from rhythmtrain.score.musicxml.tempi import Tempi, tempi_of
from rhythmtrain.score.musicxml.ties import JoinedNote, file_starts, joined_notes
from rhythmtrain.score.naming import every_beat_named
from rhythmtrain.score.passage import MOST_BARS, Bar, Passage, TempoMark
from rhythmtrain.score.tempo import beats_a_minute
from rhythmtrain.units import Bpm

NEAT_DIGITS = 3


@dataclass(frozen=True, slots=True)
class Reading:
    """A passage read from a score, and what is to be said about it."""

    passage: Passage
    remarks: tuple[str, ...] = ()


def part_passage(
    score: Score, part: Part, cue_part: Part | None = None, line: CueLine = CueLine.TOP
) -> Reading:
    """Return ``part`` as a passage; the cue is ``line`` of ``cue_part``, else its own cue notes.

    Raises:
        FileError: more bars, with the repeats, than a passage has.
    """
    signs = bar_signs([each.measures for each in score.parts])
    order = order_played(signs, name=score.name)
    tempi = tempi_of(score)
    lines = lines_of(score, part, tempi)
    if len(lines) > MOST_BARS:
        raise FileError(f"{score.name} has more than {MOST_BARS} bars: is it one piece of music?")
    played, cued = _notes(score, part, (cue_part, line), signs)
    bars = tuple(_as_beamed(_bars(lines, played), lines, score, part))
    cue = tuple(_bars(lines, cued)) if cued else ()
    signed = with_repeat_signs(bars, lines, signs, order)
    remarks = [*score.remarks, *_remarks(tempi, score, order, written_out=signed is None)]
    if signed is None:
        pieces = _in_order(lines, order)
        bars, cue = tuple(bars[at] for at in pieces), tuple(cue[at] for at in pieces) if cue else ()
        lines = tuple(lines[at] for at in pieces)
    else:
        bars, cue = signed, _like(cue, signed)
    bars = every_beat_named(_with_tempi(bars, lines))
    title = score.title or PurePosixPath(score.name).stem
    passage = Passage(
        title,
        _bpm(lines[0]),
        bars,
        every_beat_named(cue) if cue else (),
        written_up=part.written_up,
    )
    return Reading(passage, tuple(remarks))


def _notes(
    score: Score, part: Part, cued: tuple[Part | None, CueLine], signs: Sequence[BarSigns]
) -> tuple[list[JoinedNote], Sequence[JoinedNote]]:
    """Return the notes that the player plays, and those of the cue."""
    cue_part, line = cued
    before = comes_from(signs)
    every = joined_notes(part.measures, score.bars, comes_from=before)
    played = [note for note in every if not note.cue]
    if cue_part is None:
        return played, cue_notes([note for note in every if note.cue], played, CueLine.TOP)
    heard = joined_notes(cue_part.measures, score.bars, comes_from=before)
    return played, cue_notes([note for note in heard if not note.cue], played, line)


def _bars(lines: Sequence[Line], notes: Sequence[JoinedNote]) -> Iterator[Bar]:
    for line, places in zip(lines, places_of(lines, notes), strict=True):
        yield Bar(
            line.number,
            line.metre,
            places,
            line.begins,
            line.ends,
            pause=line.pause,
            landmarks=line.landmarks,
        )


def _as_beamed(
    bars: Iterable[Bar], lines: Sequence[Line], score: Score, part: Part
) -> Iterator[Bar]:
    """Yield the bars with the beams of ``part``."""
    starts = file_starts(score.bars)
    for bar, line in zip(bars, lines, strict=True):
        measures = part.measures[line.bar : line.bar + 1]
        notes = measures[0].notes if measures else ()
        yield replace(bar, beams=beams_in(line, notes, starts[line.bar]))


def _in_order(lines: Sequence[Line], order: Sequence[int]) -> list[int]:
    """Return the indices of the pieces of bars in the order they are played."""
    pieces: dict[int, list[int]] = {}
    for at, line in enumerate(lines):
        pieces.setdefault(line.bar, []).append(at)
    found = [at for bar in order for at in pieces[bar]]
    if len(found) > MOST_BARS:
        raise FileError(f"as played it has more than {MOST_BARS} bars: give fewer bars")
    return found


def _with_tempi(bars: tuple[Bar, ...], lines: Sequence[Line]) -> tuple[Bar, ...]:
    """Return ``bars`` with a tempo where it is another than in the bar before."""
    done = [bars[0]]
    for bar, line, before in zip(bars[1:], lines[1:], lines, strict=False):
        mark = TempoMark(_bpm(line)) if line.speed != before.speed else None
        done.append(replace(bar, tempo=mark))
    return tuple(done)


def _bpm(line: Line) -> Bpm:
    """Return the tempo in force in beats of the bar."""
    return Bpm(round(beats_a_minute(float(line.speed), line.metre), NEAT_DIGITS))


def _like(cue: tuple[Bar, ...], bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    """Return the bars of the cue with the repeat signs of the rhythm's."""
    return tuple(
        replace(here, opens=bar.opens, times=bar.times, ending=bar.ending)
        for here, bar in zip(cue, bars, strict=False)
    )


def _remarks(
    tempi: Tempi, score: Score, order: Sequence[int], *, written_out: bool
) -> Iterator[str]:
    if not tempi.written:
        yield f"{score.name} gives no tempo: {tempi.at(Fraction(0))} quarters a minute are taken"
    if written_out:
        yield (
            f"jumps and endings are written out as played: {len(order)} bars, "
            f"of {len(score.bars)} in the score"
        )
