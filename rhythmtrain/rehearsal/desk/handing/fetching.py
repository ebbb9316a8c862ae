"""What one takes away from the page as a file: a sheet, a track, a whole pack, the passage itself."""

import secrets
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.handing.packs import pack_wish, pack_zipped
from rhythmtrain.rehearsal.desk.handing.sheets import sheet_in_one, sheet_wish
from rhythmtrain.rehearsal.desk.made_file import Fetched
from rhythmtrain.rehearsal.desk.shelf import passage_path, plain_stem
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.desk.sounding import wish_of
from rhythmtrain.rehearsal.passages.export import export_passage
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.tracks.track import make_track

KINDS = {
    ".pdf": "application/pdf",
    ".png": "image/png",
    ".svg": "image/svg+xml",
    ".html": "text/html",
    ".mp3": "audio/mpeg",
    ".flac": "audio/flac",
    ".mid": "audio/midi",
    ".musicxml": "application/vnd.recordare.musicxml+xml",
    ".toml": "text/plain",
    ".zip": "application/zip",
}
# What a file is called after, and where it was made.
Titled = tuple[str, Path]


def fetched(sitting: Sitting, asked: Asked) -> Fetched:
    """Return the file "what" of the passage "passage", made as the page's own wishes say.

    "what" is sheet.pdf, sheet.html, sheet.png, sheet.svg, track.mp3, track.flac, track.mid, pack.zip,
    entry.zip, or the passage as passage.musicxml, passage.mid, passage.toml.

    Raises:
        RequestError: nothing of that name, options out of range.
        DrillError, FileError, TakeError: the passage or its recording does not read.
        MissingPartError, DeviceError: what draws is missing, or it failed.
    """
    what = asked.text("what")
    stem, ending = Path(what).stem, Path(what).suffix
    if what not in WAYS:
        raise RequestError(f"there is no {what[:40]!r} to take: choose from {', '.join(WAYS)}")
    path = sitting.passing / f"{secrets.token_hex(8)}{ending}"
    title, file = WAYS[what](sitting, asked, path)
    return Fetched(file, f"{plain_stem(title)}-{stem}{file.suffix}", KINDS[file.suffix])


def _sheet(sitting: Sitting, asked: Asked, path: Path) -> Titled:
    name = passage_path(sitting, asked.text("passage"))
    _, file = sheet_in_one(sheet_wish((name,), asked), path)
    return _title(name), file


def _track(sitting: Sitting, asked: Asked, path: Path) -> Titled:
    wish = wish_of(sitting, asked)
    make_track(wish, path)
    return _title(wish.passage), path


def _pack(sitting: Sitting, asked: Asked, path: Path) -> Titled:
    name = passage_path(sitting, asked.text("passage"))
    pack_zipped(replace(pack_wish(sitting, (name,)), bars=asked.maybe_text("bars")), path)
    return _title(name), path


def _entry(sitting: Sitting, asked: Asked, path: Path) -> Titled:
    name = passage_path(sitting, asked.text("passage"))
    pack_zipped(replace(pack_wish(sitting, (name,)), entry=True), path)
    return _title(name), path


def _passage(sitting: Sitting, asked: Asked, path: Path) -> Titled:
    name, bars = passage_path(sitting, asked.text("passage")), asked.maybe_text("bars")
    form = {".musicxml": "musicxml", ".mid": "midi", ".toml": "toml"}[path.suffix]
    export_passage(find_passage(name, bars), form, path)
    return _title(name), path


def _title(name: str) -> str:
    return find_passage(name).title


WAYS: dict[str, Callable[[Sitting, Asked, Path], Titled]] = {
    "sheet.pdf": _sheet,
    "sheet.html": _sheet,
    "sheet.png": _sheet,
    "sheet.svg": _sheet,
    "track.mp3": _track,
    "track.flac": _track,
    "track.mid": _track,
    "pack.zip": _pack,
    "entry.zip": _entry,
    "passage.musicxml": _passage,
    "passage.mid": _passage,
    "passage.toml": _passage,
}
