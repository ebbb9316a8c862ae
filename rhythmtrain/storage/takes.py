"""Takes that are lists of times already: MIDI files and text files of seconds.

A text file holds one time in seconds a line; blank lines and what follows ``#`` are passed over,
and only the first column counts.  In a MIDI file every note-on is an onset; notes of a chord
(struck within 25 ms, common practice, no source) are one.  Percussion that only keeps time beside the
player (a click on channel 10) is not played, and where the tracks of a file are pieces of their own
the first is the take.
"""

import math
from dataclasses import replace
from pathlib import Path

from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.errors import FileError, TakeError
from rhythmtrain.score.midi.file import MidiFile
from rhythmtrain.score.midi.parts import without_clicks
from rhythmtrain.score.midi.pedal import as_sounded
from rhythmtrain.storage.midi_files import load_midi
from rhythmtrain.storage.recordings import checked_file

MIDI_ENDINGS = {".mid", ".midi", ".smf", ".kar", ".rmi"}
TEXT_ENDINGS = {".txt", ".csv", ".tsv", ".beats"}
CHORD_S = 0.025
LARGEST_BYTES = 50_000_000
LATEST_S = 24 * 3600.0


def read_text_take(path: Path) -> Take:
    """Return the take in a text file of seconds.

    Raises:
        TakeError: a line that is no time, or no times at all.
        FileError: the file cannot be read.
    """
    times = []
    for number, line in enumerate(_text(path).splitlines(), start=1):
        words = line.split("#", 1)[0].replace(",", " ").replace(";", " ").split()
        if words:
            times.append(_seconds(words[0], path, number))
    if not times:
        raise TakeError(f"{path} holds no times: write one time in seconds a line")
    times.sort()
    return Take("text", path.name, tuple(map(Heard, times)), times[-1])


def read_midi_take(path: Path) -> Take:
    """Return the take in a MIDI file, chords as one onset each, with how long their last note was held.

    What is damaged in the file is in the take's remarks.

    Raises:
        TakeError: no note in it.
        FileError: not a MIDI file, or damaged.
    """
    file = load_midi(path)
    notes = _midi_notes(file)
    if not notes:
        raise TakeError(f"{path} holds no notes")
    heard: list[Heard] = []
    until_s = 0.0
    for start, stop, loud in sorted(notes):
        if heard and start - heard[-1].time_s <= CHORD_S:
            until_s = max(until_s, stop)
            heard[-1] = replace(heard[-1], length_s=until_s - heard[-1].time_s)
            continue
        until_s = stop
        heard.append(Heard(start, loud, 0.001, stop - start))
    remarks = tuple(f"{path.name}: {warning}" for warning in file.warnings)
    last_s = max(stop for _, stop, _ in notes)
    return Take("midi", path.name, tuple(heard), last_s, remarks=remarks)


def _seconds(word: str, path: Path, number: int) -> float:
    try:
        time = float(word)
    except ValueError as error:
        raise TakeError(
            f"{path}, line {number}: {word[:40]!r} is not a time: write one time in seconds a line"
        ) from error
    if not math.isfinite(time) or abs(time) > LATEST_S:
        raise TakeError(f"{path}, line {number}: {word[:40]} is not a time within a day")
    return time


def _text(path: Path) -> str:
    checked_file(path)
    if path.stat().st_size > LARGEST_BYTES:
        raise FileError(f"{path} is larger than {LARGEST_BYTES // 1_000_000} MB: is it a take?")
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise TakeError(f"{path} is not a text file of seconds") from error


def _midi_notes(file: MidiFile) -> list[tuple[float, float, float]]:
    """Return (start, stop, velocity) of every note that was played, in seconds, as long as it sounded."""
    playing = [index for index, track in enumerate(file.tracks) if track.notes]
    if not playing:
        return []
    beside = file.beside(playing[0])
    clock = file.clock(playing[0])
    played = without_clicks(tuple(note for track in beside for note in track.notes))
    notes = as_sounded(played, beside)
    return [
        (float(clock.second(note.tick)), float(clock.second(note.end_tick)), float(note.strength))
        for note in notes
    ]
