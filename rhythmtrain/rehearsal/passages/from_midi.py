"""Passages that come from a MIDI file, written or played."""

from collections.abc import Callable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from rhythmtrain.errors import FileError
from rhythmtrain.remedies import remedy
from rhythmtrain.score.cue_part import CueLine, cue_part_of
from rhythmtrain.score.midi.file import MidiFile
from rhythmtrain.score.midi.parts import MidiPart, choose_part
from rhythmtrain.score.midi.passage import midi_passage, part_end
from rhythmtrain.score.midi.places import written_places
from rhythmtrain.score.midi.played import played_places
from rhythmtrain.score.passage import Bar, Passage
from rhythmtrain.storage.midi_files import load_midi

Say = Callable[[str], None]


def passage_of_midi(path: Path, part: str | None, cue_part: str | None, say: Say) -> Passage:
    """Return a part of the MIDI file at ``path``, with a line of another ("Piano:all") as its cue.

    Raises:
        RequestError: no such part.
        FileError: the file does not read, or was played to no click.
    """
    file = load_midi(path)
    for warning in file.warnings:
        say(f"{path.name}: {warning}")
    player, taken = choose_part(file, part)
    if taken:
        say(taken)
    places = _places(file, player, say)
    if cue_part is None:
        return midi_passage(file, player, places, title=path.stem)
    wanted = cue_part_of(cue_part)
    other, _ = choose_part(file, wanted.name)
    cue_places = _places(file, other, say)
    until = max(part_end(file, player, places), part_end(file, other, cue_places))
    passage = midi_passage(
        file, player, places, title=path.stem, until=until, cuts=tuple(cue_places)
    )
    cue = midi_passage(file, other, cue_places, title=path.stem, until=until, cuts=tuple(places))
    return replace(passage, cue=tuple(_line(bar, wanted.line) for bar in cue.bars))


def _places(file: MidiFile, part: MidiPart, say: Say) -> tuple[Fraction, ...]:
    """Return where the notes of ``part`` are written, and say what was moved."""
    clock = file.clock(part.track)
    quarters = [clock.quarter(note.tick) for note in part.notes]
    written = written_places(quarters, clock.tick_quarters(part.notes[0].tick))
    if written is not None:
        places, moved = written
        if moved:
            say(f"{moved} of {len(places)} notes of {part.name} are moved to the nearest place")
        return places
    played = played_places(quarters)
    if played is None:
        raise FileError(
            f"{file.name}: {part.name} was played and does not follow the file's own beats; "
            f"{remedy('write-it-down', file.name)}"
        )
    say(f"{part.name} was played: its notes are put on the nearest sixteenth or triplet")
    return played


def _line(bar: Bar, wanted: CueLine) -> Bar:
    """Return a bar of the cue: the pitches of its line, and no signs of its own."""
    places = tuple(replace(each, pitches=wanted.of_chord(each.pitches)) for each in bar.places)
    return replace(bar, places=places, tempo=None, landmarks=())
