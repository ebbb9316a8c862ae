"""A MIDI file as a value: its notes, tempi, metres and parts, and what had to be mended.

Every track that is whole up to some point is kept up to there.  A note that is struck again before
it ended ends there; one that never ends lasts as long as its track.  Tempo and metre may stand in any
track; those that make no sense are left out.  Key signatures say nothing about time and are not
read.  In a type 2 file each track is a piece of its own and follows only its own tempi and metres.

A part is a track with notes or, where one track has them all, a channel of it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from rhythmtrain.errors import DrillError, FileError
from rhythmtrain.score.metre import LOWER_NUMBERS, Metre
from rhythmtrain.score.midi.chunks import SEQUENCES, Chunks, Span, read_chunks
from rhythmtrain.score.midi.clock import MILLION, MidiClock, midi_clock
from rhythmtrain.score.midi.events import (
    META,
    NOTE_OFF,
    NOTE_ON,
    PROGRAM,
    Event,
    TrackEvents,
    pedal_moves,
    read_events,
)

TRACK_NAME, MARKER, SET_TEMPO, TIME_SIGNATURE = 0x03, 0x06, 0x51, 0x58
LARGEST_MIDI = 5_000_000
TEMPO_BYTES, FEWEST_METRE_BYTES = 3, 2
MOST_NOTES = 100_000
PERCUSSION = 9
LONGEST_NAME = 60


@dataclass(frozen=True, slots=True)
class MidiNote:
    """One note: the ticks between which it sounds, and who plays it (channels count from 0)."""

    tick: int
    end_tick: int
    key: int
    strength: int
    channel: int
    track: int


@dataclass(frozen=True, slots=True)
class MidiTrack:
    """One track: its name, what it says of tempo and metre, and its programs by channel.

    ``tempi`` are (tick, microseconds a quarter), ``metres`` (tick, metre), ``markers`` (tick, words),
    ``pedal`` (tick, channel, whether it went down).
    """

    name: str
    notes: tuple[MidiNote, ...]
    tempi: tuple[tuple[int, int], ...]
    metres: tuple[tuple[int, Metre], ...]
    markers: tuple[tuple[int, str], ...]
    programs: tuple[tuple[int, int], ...]
    pedal: tuple[tuple[int, int, bool], ...]


@dataclass(frozen=True, slots=True)
class MidiFile:
    """All that is read of a file.  ``warnings`` are sentences without the file's name."""

    name: str
    chunks: Chunks
    tracks: tuple[MidiTrack, ...]
    warnings: tuple[str, ...]

    def beside(self, track: int) -> tuple[MidiTrack, ...]:
        """Return the tracks that share their time with track ``track``, itself among them."""
        return (self.tracks[track],) if self.chunks.kind == SEQUENCES else self.tracks

    def clock(self, track: int = 0) -> MidiClock:
        """Return the clock that track ``track`` (index from 0) follows."""
        tempi = [each for other in self.beside(track) for each in other.tempi]
        return midi_clock(self.chunks, sorted(tempi, key=lambda each: each[0]))


def read_midi_file(data: bytes, *, name: str) -> MidiFile:
    """Return the MIDI file ``data``; ``name`` is what it is called, for messages.

    Raises:
        FileError: not a MIDI file, without times, or with more notes than any passage has.
    """
    if len(data) > LARGEST_MIDI:
        raise FileError(f"{name} is larger than {LARGEST_MIDI // MILLION} MB: is it MIDI?")
    chunks = read_chunks(data, name=name)
    warnings = list(chunks.warnings)
    tracks: list[MidiTrack] = []
    count = 0
    for index, span in enumerate(chunks.tracks):
        read = read_events(data, span.start, span.limit)
        warnings += _mended(index + 1, read, span)
        track, left_out = _track(index, read)
        warnings += left_out
        count += len(track.notes)
        if count > MOST_NOTES:
            raise FileError(f"{name} has more than {MOST_NOTES} notes: is it music?")
        tracks.append(track)
    return MidiFile(name, chunks, tuple(tracks), tuple(warnings))


def _mended(number: int, read: TrackEvents, span: Span) -> Iterator[str]:
    """Yield what was wrong with the frame of track ``number``."""
    if read.damage:
        yield f"track {number} is damaged ({read.damage}): what comes before is kept"
    elif not read.ended:
        yield f"track {number} has no end: what is there is kept"
    elif span.promised not in (span.limit, read.stop):
        yield f"track {number} is not as long as it says: it is read to its own end"


def _track(index: int, read: TrackEvents) -> tuple[MidiTrack, list[str]]:
    """Return the track, and what was left out of it."""
    metas = [event for event in read.events if event.status == META]
    names = _texts(metas, TRACK_NAME)
    tempi = [(event.tick, _tempo(event)) for event in metas if event.data[0] == SET_TEMPO]
    metres = [(event.tick, _metre(event)) for event in metas if event.data[0] == TIME_SIGNATURE]
    left_out = [
        f"track {index + 1}: {what} at tick {tick} makes no sense and is left out"
        for what, changes in (("a tempo", tempi), ("a time signature", metres))
        for tick, value in changes
        if value is None
    ]
    return MidiTrack(
        name=names[0][1] if names else "",
        notes=_notes(index, read),
        tempi=tuple((tick, value) for tick, value in tempi if value is not None),
        metres=tuple((tick, value) for tick, value in metres if value is not None),
        markers=tuple(_texts(metas, MARKER)),
        programs=_programs(read.events),
        pedal=pedal_moves(read.events),
    ), left_out[:3]


def _texts(metas: Iterable[Event], kind: int) -> list[tuple[int, str]]:
    """Return the words of one kind of meta event, one printable line each."""
    found = []
    for event in metas:
        if event.data[0] != kind:
            continue
        try:
            words = event.data[1:].decode("utf-8")
        except UnicodeDecodeError:
            words = event.data[1:].decode("latin-1")
        line = "".join(letter for letter in " ".join(words.split()) if letter.isprintable())
        if line:
            found.append((event.tick, line[:LONGEST_NAME].strip()))
    return found


def _tempo(event: Event) -> int | None:
    us = int.from_bytes(event.data[1:], "big")
    return us if len(event.data) == TEMPO_BYTES + 1 and us else None


def _metre(event: Event) -> Metre | None:
    numbers = event.data[1:]
    if len(numbers) < FEWEST_METRE_BYTES or numbers[1] >= len(LOWER_NUMBERS):
        return None
    try:
        return Metre((numbers[0],), LOWER_NUMBERS[numbers[1]])
    except DrillError:
        return None


def _programs(events: Iterable[Event]) -> tuple[tuple[int, int], ...]:
    """Return the first program of each channel."""
    first: dict[int, int] = {}
    for event in events:
        if event.status & 0xF0 == PROGRAM:
            first.setdefault(event.status & 0x0F, event.data[0])
    return tuple(first.items())


def _notes(track: int, read: TrackEvents) -> tuple[MidiNote, ...]:
    """Return the notes in order of their beginnings; of two alike at one tick, one."""
    notes: list[MidiNote] = []
    sounding: dict[tuple[int, int], int] = {}
    for event in read.events:
        kind = event.status & 0xF0
        if event.status == META or kind not in (NOTE_ON, NOTE_OFF):
            continue
        voice = (event.status & 0x0F, event.data[0])
        struck = kind == NOTE_ON and event.data[1] > 0
        at = sounding.pop(voice, None)
        if at is not None:
            if struck and notes[at].tick == event.tick:
                sounding[voice] = at
                continue
            notes[at] = replace(notes[at], end_tick=event.tick)
        if struck:
            sounding[voice] = len(notes)
            strength = min(event.data[1], 127)
            notes.append(MidiNote(event.tick, read.end_tick, voice[1], strength, voice[0], track))
    return tuple(notes)
