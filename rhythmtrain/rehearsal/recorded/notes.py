"""Mapping a recording by the accompanist's notes: in which order they are played, and where.

A recording that repeats or leaves out bars which the notes do not is never stretched over: it is
said which bars it seems to play, and asked for with ``--order``.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.hearing.recording.beat_evidence import band_rises
from rhythmtrain.hearing.recording.chroma import pitch_levels
from rhythmtrain.hearing.recording.spectra import LOWEST_PITCH, Spectra
from rhythmtrain.notate.beats.decoding import SolvedBeat, going_forward
from rhythmtrain.notate.notes.aligned_beats import aligned_beats
from rhythmtrain.notate.notes.alignment import align_notes
from rhythmtrain.notate.notes.chord_places import Sounding
from rhythmtrain.notate.notes.from_midi import part_of_midi
from rhythmtrain.notate.notes.from_musicxml import part_of_score
from rhythmtrain.notate.notes.played_order import order_played
from rhythmtrain.notate.notes.written_part import (
    WrittenBeat,
    WrittenPart,
    named_runs,
    runs_in_words,
)
from rhythmtrain.rehearsal.passages.passages import bar_range
from rhythmtrain.rehearsal.recorded.marks import MapWish, read_mark
from rhythmtrain.remedies import option, remedy
from rhythmtrain.storage.midi_files import load_midi
from rhythmtrain.storage.scores import load_score

AS_WRITTEN = "written"

Read = Callable[[Path, str | None], tuple[WrittenPart, tuple[str, ...]]]


def _midi(path: Path, part: str | None) -> tuple[WrittenPart, tuple[str, ...]]:
    return part_of_midi(load_midi(path), part)


def _musicxml(path: Path, part: str | None) -> tuple[WrittenPart, tuple[str, ...]]:
    return part_of_score(load_score(path), part)


READERS: Mapping[str, Read] = {
    ".mid": _midi,
    ".midi": _midi,
    ".musicxml": _musicxml,
    ".xml": _musicxml,
    ".mxl": _musicxml,
}


@dataclass(frozen=True, slots=True)
class NotesRead:
    """The accompanist's part as it is looked for, and what is to be said of it."""

    part: WrittenPart
    said: tuple[str, ...]


def notes_for(wish: MapWish, path: Path) -> NotesRead:
    """Return the notes in the file at ``path``, as ``wish`` says that they are played.

    Raises:
        RequestError: no such kind of file, part or bars, or an order that does not read.
        FileError: the file does not read.
    """
    read = READERS.get(path.suffix.lower())
    if read is None:
        raise RequestError(
            f"{option('notes')} must be MusicXML or MIDI ({', '.join(READERS)}), got {path}"
        )
    part, said = read(path, wish.part)
    if wish.order is not None and wish.order != AS_WRITTEN:
        part = part.played(named_runs(part, wish.order))
    if wish.bars is not None:
        part = part.only(*bar_range(wish.bars))
    if wish.beat is not None:
        part = part.counted_in(wish.beat)
    return NotesRead(part, said)


def mapped_by_notes(
    spectra: Spectra,
    read: NotesRead,
    wish: MapWish,
    marks: Sequence[tuple[float, float]] = (),
) -> tuple[tuple[WrittenBeat, SolvedBeat], ...]:
    """Return every beat between the first note and the last, and where it falls in ``spectra``.

    ``marks`` (quarter, second of ``spectra``) were found by ear.

    Raises:
        RequestError: the recording repeats or leaves out bars, or there are too few notes.
        TakeError: the notes do not fit the recording.
    """
    part = read.part
    sounding = Sounding(
        pitch_levels(spectra.pitches), LOWEST_PITCH, band_rises(spectra.bands), spectra.edges_hz
    )
    notes = part.sounding()
    if wish.order is None:
        _check_order(sounding, part)
    aligned = align_notes(sounding, notes, marks)
    first, last = float(aligned.quarters[0]), float(aligned.quarters[-1])
    beats = [beat for beat in part.beats() if first <= float(beat.at) <= last]
    if len(beats) < 2:  # noqa: PLR2004  (a map needs two)
        raise TakeError("the notes hold fewer than two beats: give more bars")
    solved = aligned_beats(aligned, np.array([float(beat.at) for beat in beats]))
    return tuple(zip(beats, going_forward(list(solved)), strict=True))


def marks_on(read: NotesRead, wish: MapWish, start_s: float) -> tuple[tuple[float, float], ...]:
    """Return the marks of ``wish`` as (quarter, second after ``start_s``).

    Raises:
        RequestError: a mark that does not read, or for a beat that the notes do not have.
    """
    places = {(beat.bar, beat.beat): float(beat.at) for beat in read.part.beats()}
    found = []
    for text in wish.at:
        bar, beat, second = read_mark(text)
        if (bar, beat) not in places:
            raise RequestError(f"{option('at', text)}: the notes have no beat {bar}.{beat}")
        found.append((places[bar, beat], second - start_s))
    return tuple(sorted(found))


def _check_order(sounding: Sounding, part: WrittenPart) -> None:
    bars = np.array([float(bar.start) for bar in part.bars])
    runs = order_played(sounding, part.sounding(), bars)
    if runs is None:
        return
    order = runs_in_words(part, runs)
    raise RequestError(
        f"the recording does not play the bars as the notes have them: it seems to play {order}; "
        f"listen, and {remedy('say-order', order, AS_WRITTEN)} if the notes are right"
    )
