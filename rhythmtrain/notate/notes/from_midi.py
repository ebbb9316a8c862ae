"""The accompanist's part of a MIDI file.

MIDI is written out as it is played.  Whose part it is: the one that was named, else all keyboards,
else all but percussion.  Clicks that only keep time are no notes.
"""

from fractions import Fraction

from rhythmtrain.errors import FileError
from rhythmtrain.notate.notes.written_part import WrittenBar, WrittenNote, WrittenPart
from rhythmtrain.remedies import remedy
from rhythmtrain.score.midi.bars import midi_bars
from rhythmtrain.score.midi.file import MidiFile, MidiNote
from rhythmtrain.score.midi.parts import choose_part, parts_of, without_clicks
from rhythmtrain.score.midi.places import written_places


def part_of_midi(file: MidiFile, wish: str | None = None) -> tuple[WrittenPart, tuple[str, ...]]:
    """Return the part that ``wish`` names, and whole sentences on what is to be doubted.

    Raises:
        FileError: no notes, or too many bars.
        RequestError: there is no such part.
    """
    notes, track, doubts = _chosen(file, wish)
    clock = file.clock(track)
    written = tuple(
        WrittenNote(
            clock.quarter(note.tick),
            clock.quarter(note.end_tick) - clock.quarter(note.tick),
            note.key,
        )
        for note in sorted(notes, key=lambda each: each.tick)
    )
    if not clock.counts_quarters:
        raise FileError(
            f"{file.name} counts seconds and not quarters: it says nothing about bars and beats"
        )
    metres = [
        (clock.quarter(tick), metre) for each in file.beside(track) for tick, metre in each.metres
    ]
    until = max(note.at for note in written) + Fraction(1, 64)
    lines = midi_bars(sorted(metres, key=lambda each: each[0]), until, name=file.name)
    bars = tuple(
        WrittenBar(bar.number, bar.start, bar.metre, bar.stop - bar.start, bar.begins)
        for bar in lines
    )
    if written_places((note.at for note in written), clock.tick_quarters(0)) is None:
        doubts.append(
            f"{file.name} was played and not written on a grid: its bars are no finer than that"
        )
    return WrittenPart(written, bars), tuple(doubts)


def _chosen(file: MidiFile, wish: str | None) -> tuple[tuple[MidiNote, ...], int, list[str]]:
    """Return the notes meant, a track whose time they share, and what is said of the choice."""
    if wish is not None:
        part, _ = choose_part(file, wish)
        return part.notes, part.track, []
    parts = [part for part in parts_of(file) if not part.percussion]
    if not parts:
        raise FileError(f"{file.name} holds only percussion: no pitches to find in a recording")
    keyboards = [part for part in parts if part.keyboard] or parts
    track = keyboards[0].track
    notes = tuple(note for part in keyboards for note in part.notes)
    left = [part for part in parts if part not in keyboards]
    doubts = []
    if left:
        names = ", ".join(part.name for part in left[:4])
        doubts.append(
            f"only keyboards are looked for in the recording, not {names}{remedy('by', 'part')}"
        )
    return without_clicks(notes), track, doubts
