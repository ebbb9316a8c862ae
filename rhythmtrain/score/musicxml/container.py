"""The score inside a file: plain XML as it is, or the root file of a zipped score (.mxl).

A zipped score names its root file in ``META-INF/container.xml`` (MusicXML 4.0, "Compressed .MXL
files").  Programs misname it, or leave the list out; then the first file that looks like a score
is taken.  Nothing is ever unpacked to a folder, and no more is unzipped than a score can hold,
whatever the sizes in the zip's own table say.
"""

import zipfile
import zlib
from collections.abc import Iterable
from io import BytesIO
from pathlib import PurePosixPath

from rhythmtrain.errors import FileError
from rhythmtrain.score.musicxml.markup import parse

MEBIBYTE = 1 << 20
# A symphony movement in full score comes to 20 to 40 MB unzipped, and a tenth of that zipped.
LARGEST_SCORE = 64 * MEBIBYTE
LARGEST_ZIP = 16 * MEBIBYTE
LARGEST_LIST = MEBIBYTE
ZIP_SIGNATURE = b"PK\x03\x04"
CONTAINER = "META-INF/container.xml"
SCORE_ENDINGS = (".musicxml", ".xml")
NO_SCORES = ("META-INF", "__MACOSX")
LOCKED = 0x1


def score_markup(data: bytes, *, name: str) -> bytes:
    """Return the XML of the score in the file ``data``; ``name`` is the file's, for messages.

    Raises:
        FileError: empty, too large, or a zip that is damaged, locked, or no score.
    """
    if not data:
        raise FileError(f"{name} is empty")
    if len(data) > LARGEST_SCORE:
        raise FileError(f"{name} is larger than {LARGEST_SCORE // MEBIBYTE} MB: no score is")
    if not data.startswith(ZIP_SIGNATURE):
        return data
    if len(data) > LARGEST_ZIP:
        raise FileError(f"{name} is larger than {LARGEST_ZIP // MEBIBYTE} MB: no zipped score is")
    try:
        with zipfile.ZipFile(BytesIO(data)) as zipped:
            return _root(zipped, name)
    except (zipfile.BadZipFile, zlib.error, EOFError, NotImplementedError, OSError) as error:
        raise FileError(f"{name} is a damaged zip: save or send it again ({error})") from error


def _root(zipped: zipfile.ZipFile, name: str) -> bytes:
    names = [member.filename for member in zipped.infolist() if not member.is_dir()]
    stray = next((each for each in names if _climbs(each)), None)
    if stray is not None:
        raise FileError(f"{name} holds an entry that climbs out of its zip: {stray[:60]!r}")
    named = _named_root(zipped, names, name)
    found = named if named in names else _first_score(names)
    if found is None:
        raise FileError(f"{name} is a zip without a MusicXML score in it")
    return _unzipped(zipped, found, LARGEST_SCORE, name)


def _climbs(entry: str) -> bool:
    path = PurePosixPath(entry.replace("\\", "/"))
    return path.is_absolute() or ".." in path.parts or ":" in path.parts[0]


def _named_root(zipped: zipfile.ZipFile, names: list[str], name: str) -> str | None:
    """Return the root file that the container names, or None."""
    if CONTAINER not in names:
        return None
    try:
        listed = parse(_unzipped(zipped, CONTAINER, LARGEST_LIST, name), name=name)
    except FileError:
        return None
    for files in listed.all("rootfiles"):
        for root in files.all("rootfile"):
            return root.get("full-path")
    return None


def _first_score(names: Iterable[str]) -> str | None:
    for ending in SCORE_ENDINGS:
        for each in names:
            inside = PurePosixPath(each)
            if inside.suffix.lower() == ending and inside.parts[0] not in NO_SCORES:
                return each
    return None


def _unzipped(zipped: zipfile.ZipFile, entry: str, most: int, name: str) -> bytes:
    """Return the bytes of one entry, never more than ``most``."""
    member = zipped.getinfo(entry)
    if member.flag_bits & LOCKED:
        raise FileError(f"{name} is locked with a password: save it without one")
    with zipped.open(member) as file:
        data = file.read(most + 1)
    if len(data) > most:
        raise FileError(
            f"{name} unzips to more than {most // MEBIBYTE} MB, as no score does: it is not read"
        )
    return data
