"""Takes that are lists of times already: MIDI files and text files of seconds.

A text file holds one time in seconds a line; blank lines and what follows ``#`` are passed over,
and only the first column counts.  In a MIDI file every note-on is an onset; notes of a chord
(struck within 25 ms, common practice, no source) are one.
"""

import math
from pathlib import Path

from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.errors import FileError, TakeError
from rhythmtrain.storage.recordings import checked_file

MIDI_ENDINGS = {".mid", ".midi", ".smf", ".kar"}
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
    """Return the take in a MIDI file, chords as one onset each, with how long notes were held.

    Raises:
        TakeError: no note in it.
        FileError: not a MIDI file, or damaged.
    """
    checked_file(path)
    if path.stat().st_size > LARGEST_BYTES:
        raise FileError(f"{path} is larger than {LARGEST_BYTES // 1_000_000} MB: is it MIDI?")
    notes = _midi_notes(path)
    if not notes:
        raise TakeError(f"{path} holds no notes")
    heard: list[Heard] = []
    for start, stop, loud in sorted(notes):
        if heard and start - heard[-1].time_s <= CHORD_S:
            continue
        heard.append(Heard(start, loud, 0.001, stop - start))
    return Take("midi", path.name, tuple(heard), max(stop for _, stop, _ in notes))


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


def _midi_notes(path: Path) -> list[tuple[float, float, float]]:
    """Return (start, stop, velocity) of every note, in seconds."""
    import mido  # noqa: PLC0415  (loaded when a MIDI file is read)

    notes: list[tuple[float, float, float]] = []
    sounding: dict[tuple[int, int], tuple[float, int]] = {}
    now = 0.0
    try:
        for message in mido.MidiFile(str(path)):
            now += message.time
            if message.type not in ("note_on", "note_off"):
                continue
            key = (message.channel, message.note)
            if key in sounding:
                begun, loud = sounding.pop(key)
                notes.append((begun, now, loud))
            if message.type == "note_on" and message.velocity:
                sounding[key] = (now, message.velocity)
    except (OSError, EOFError, ValueError, KeyError, IndexError, TypeError) as error:
        raise FileError(f"{path} is not a MIDI file that can be read: {error}") from error
    notes += [(begun, now, loud) for begun, loud in sounding.values()]
    return notes
