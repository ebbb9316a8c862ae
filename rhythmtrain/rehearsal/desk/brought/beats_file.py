"""A beat map as a file: taken away to be kept elsewhere, and brought back; taps that were made elsewhere."""

import secrets
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError, RhythmtrainError, TakeError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.made_file import Fetched
from rhythmtrain.rehearsal.desk.mapping import beats_kept
from rhythmtrain.rehearsal.desk.recordings import BEATS, recording_path, recording_title
from rhythmtrain.rehearsal.desk.shelf import plain_stem
from rhythmtrain.rehearsal.desk.sitting import Sitting, told_as
from rhythmtrain.rehearsal.mapping.map import map_recording
from rhythmtrain.rehearsal.recorded.marks import MapWish
from rhythmtrain.storage.beat_maps import load_beat_map
from rhythmtrain.storage.recordings import open_recording
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.storage.takes import MIDI_ENDINGS, TEXT_ENDINGS

TAPS = TEXT_ENDINGS | MIDI_ENDINGS
PLAIN = "text/plain; charset=utf-8"
Document = dict[str, Any]


def beats_saved(sitting: Sitting, asked: Asked) -> Fetched:
    """Return the beat map of the recording "recording" as a file: beats, taps and marks.

    Raises:
        RequestError: there are no beats yet.
    """
    path = recording_path(sitting, asked.text("recording"))
    beats = path.with_suffix(BEATS)
    if not beats.is_file():
        raise RequestError("this recording has no beats yet: tap along first")
    return Fetched(beats, f"{plain_stem(recording_title(path))}{BEATS}", PLAIN)


def beats_brought(sitting: Sitting, asked: Asked) -> Document:
    """Give the recording "recording" the beats in the file whose bytes came, and return them.

    "file" is what the person's file is called: a beat map, or taps as seconds or MIDI, for which
    "bars", "metre" and "end" are said as for tapping along.

    Beats that are taken "as_brought" were not held against the sound.

    Raises:
        RequestError: neither by its ending, or no bars for taps.
        TakeError, FileError: it does not read, or lies beyond the recording; what was there stays.
    """
    path = recording_path(sitting, asked.text("recording"))
    called = Path(asked.text("file"))
    ending = called.suffix.lower()
    if ending not in {BEATS, *TAPS}:
        raise RequestError(
            f"{called.name[:80]} holds no beats: bring a beat map (.beats), or taps as seconds, one "
            "a line (.txt), or MIDI (.mid)"
        )
    came = sitting.passing / f"{secrets.token_hex(8)}{ending}"
    write_bytes_safely(came, asked.data)
    try:
        if ending == BEATS:
            _check_inside(came, path)
            write_bytes_safely(path.with_suffix(BEATS), asked.data)
            return beats_kept(sitting, asked) | {"said": [], "as_brought": True}
        told = map_recording(path, _tapped(asked, came, path.with_suffix(BEATS)))
    except RhythmtrainError as error:
        raise told_as(error, came, called) from error
    finally:
        came.unlink(missing_ok=True)
    return told.document | {"said": list(told.warnings)}


def _check_inside(beats: Path, path: Path) -> None:
    """Refuse a map that does not read, or whose beats lie beyond the end of the recording."""
    last_s = load_beat_map(beats).beats[-1].time_s
    duration_s = open_recording(path).duration_s
    if duration_s is not None and last_s > duration_s:
        raise TakeError(
            f"the last beat in {beats.name} is at {last_s:.1f} s, and the recording ends at "
            f"{duration_s:.1f} s: is it the map of another recording?"
        )


def _tapped(asked: Asked, taps: Path, output: Path) -> MapWish:
    bars = asked.maybe_text("bars")
    if bars is None:
        raise RequestError("say first which bars were tapped, such as 45-50")
    end_s = asked.maybe_number("end")
    return MapWish(
        taps=taps,
        bars=bars,
        metre=asked.text("metre", "4/4"),
        end=None if end_s is None else f"{end_s:.3f}",
        output=output,
    )
