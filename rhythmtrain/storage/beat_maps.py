"""Beat maps and taps on a recording, as files."""

from pathlib import Path

from rhythmtrain.errors import FileError, TakeError
from rhythmtrain.remedies import remedy
from rhythmtrain.storage.recordings import checked_file
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.storage.takes import MIDI_ENDINGS, read_midi_take, read_text_take
from rhythmtrain.timing.beatmap import BeatMap
from rhythmtrain.timing.beatmap_text import read_beat_map, write_beat_map

LARGEST_BYTES = 5_000_000


def load_beat_map(path: Path) -> BeatMap:
    """Return the beat map in the file at ``path``.

    Raises:
        FileError: the file cannot be read, or is no text.
        TakeError: it does not read as a beat map; the message names the line.
    """
    try:
        return read_beat_map(read_map_text(path))
    except TakeError as error:
        raise TakeError(f"{path}: {error}") from error


def read_map_text(path: Path) -> str:
    """Return the text of the beat map at ``path``, comments included.

    Raises:
        FileError: the file cannot be read, or is no text.
    """
    if path.is_file() and not path.stat().st_size:
        raise FileError(
            f"{path} is empty: a beat map has a line for every beat, its second, a tab, and its place "
            f"such as 17.1; {remedy('map-makes-one')}"
        )
    checked_file(path)
    if path.stat().st_size > LARGEST_BYTES:
        raise FileError(f"{path} is larger than {LARGEST_BYTES // 1_000_000} MB: is it a beat map?")
    try:
        return path.read_text(encoding="utf-8-sig")
    except UnicodeDecodeError as error:
        raise FileError(f"{path} is not a text file of seconds and beats") from error


def save_beat_map(path: Path, beat_map: BeatMap, *, comment: str) -> None:
    """Write ``beat_map`` to ``path``, whole or not at all; FileError where that cannot be."""
    write_bytes_safely(path, write_beat_map(beat_map, comment=comment).encode())


def load_taps(path: Path) -> tuple[float, ...]:
    """Return the seconds of taps on a recording, from a text file (one a line) or MIDI, rising.

    Raises:
        FileError, TakeError: the file cannot be read, or holds no times.
    """
    midi = path.suffix.lower() in MIDI_ENDINGS
    take = read_midi_take(path) if midi else read_text_take(path)
    return take.times_s
