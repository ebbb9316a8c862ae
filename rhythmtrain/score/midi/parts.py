"""The parts of a MIDI file, and which of them a person means.

A part is a track with notes or, where one track has them all, a channel of it.  Numbers count from 1
over the parts.  Where none is named, the only part is meant, or the first that is neither a keyboard
nor percussion (channel 10), and which one that was is said.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.score.midi.file import PERCUSSION, MidiFile, MidiNote

# General MIDI 1 programs from 0: pianos, harpsichord and celesta, organs and accordions.
KEYBOARDS = frozenset({*range(9), *range(16, 24)})
# Percussion keys of a metronome: GM1 wood blocks, and the click and bell below GM1's range.
CLICKS = frozenset({33, 34, 76, 77})


@dataclass(frozen=True, slots=True)
class MidiPart:
    """One part: its number from 1, its name, its track's index, its notes in order."""

    number: int
    name: str
    track: int
    notes: tuple[MidiNote, ...]
    keyboard: bool
    percussion: bool


def parts_of(file: MidiFile) -> tuple[MidiPart, ...]:
    """Return the parts of ``file``, in the order of the file.

    Raises:
        FileError: no note in it.
    """
    parts = tuple(_parts(file))
    if not parts:
        raise FileError(f"{file.name} holds no notes")
    return parts


def choose_part(file: MidiFile, wish: str | None = None) -> tuple[MidiPart, str]:
    """Return the part that ``wish`` (a name, or a number from 1) means, and a sentence or "".

    Raises:
        RequestError: there is no such part, or several of that name.
        FileError: no note in the file.
    """
    parts = parts_of(file)
    if wish is not None:
        return _named(parts, wish), ""
    single = [part for part in parts if not part.percussion and not part.keyboard]
    chosen = (single or [part for part in parts if not part.percussion] or list(parts))[0]
    if len(parts) == 1:
        return chosen, ""
    return chosen, f"of {len(parts)} parts, part {chosen.number} is taken: {chosen.name}"


def without_clicks(notes: tuple[MidiNote, ...]) -> tuple[MidiNote, ...]:
    """Return ``notes`` without the strokes that only keep time.

    Percussion is left out where another channel has notes; else a metronome's own keys are, where
    other keys are played beside them.
    """
    played = tuple(note for note in notes if note.channel != PERCUSSION)
    if not played:
        played = tuple(note for note in notes if note.key not in CLICKS)
    return played or notes


def _parts(file: MidiFile) -> Iterator[MidiPart]:
    tracks = [(index, track) for index, track in enumerate(file.tracks) if track.notes]
    rows: list[tuple[int, str, list[MidiNote]]] = [
        (index, track.name, list(track.notes)) for index, track in tracks
    ]
    if len(tracks) == 1:
        index, track = tracks[0]
        channels = sorted({note.channel for note in track.notes})
        rows = [
            (
                index,
                track.name if len(channels) == 1 else f"channel {channel + 1}",
                [note for note in track.notes if note.channel == channel],
            )
            for channel in channels
        ]
    for number, (index, name, notes) in enumerate(rows, start=1):
        channels = sorted({note.channel for note in notes})
        programs = dict(file.tracks[index].programs)
        yield MidiPart(
            number,
            name or f"track {index + 1}",
            index,
            tuple(notes),
            keyboard=any(programs.get(channel) in KEYBOARDS for channel in channels),
            percussion=channels == [PERCUSSION],
        )


def _named(parts: tuple[MidiPart, ...], wish: str) -> MidiPart:
    asked = wish.strip().casefold()
    found = [part for part in parts if part.name.casefold() == asked]
    found = found or [part for part in parts if str(part.number) == asked]
    found = found or [part for part in parts if asked and asked in part.name.casefold()]
    if len(found) == 1:
        return found[0]
    have = ", ".join(f"{part.number} {part.name}" for part in parts[:12])
    what = "there is no part" if not found else "several parts are called"
    raise RequestError(f"{what} {wish[:40]!r}: say one of {have}")
