"""The drill cupboard: supplied drills by name, and drill files by path.

Supplied drills are named so that they sort from easy to hard (``01-steady-quarters``); the name
without its number works too.  A drill's own files stand in its folder, links included.
"""

import codecs
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from difflib import get_close_matches
from functools import cache
from pathlib import Path

from rhythmtrain.errors import DrillError, FileError, RequestError
from rhythmtrain.remedies import remedy
from rhythmtrain.score.drill.drill import Drill, read_drill
from rhythmtrain.score.drill.text import LARGEST_DRILL
from rhythmtrain.storage.places import drills_folder
from rhythmtrain.storage.scores import is_score

SUFFIX = ".toml"
UTF_16 = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
_WORD = re.compile(r"[^\W_]+")
_NUMBERED = re.compile(r"(\d+)-(.+)", re.ASCII)


@dataclass(frozen=True, slots=True)
class ShippedDrill:
    """A supplied drill; ``level`` is its place in order of difficulty, from 1."""

    name: str
    path: Path
    title: str
    about: str
    level: int


def shipped_drills() -> tuple[ShippedDrill, ...]:
    """Return the supplied drills in order of difficulty."""
    return tuple(_listed())


def load_drill(name_or_path: str) -> Drill:
    """Return the drill in the file ``name_or_path``, or the supplied drill of that name.

    Raises:
        RequestError: neither a file nor a supplied drill; the message gives the nearest name.
        FileError: a file that cannot be read, is too large, or is not text.
        DrillError: a drill that does not read.
    """
    path = drill_path(name_or_path)
    return read_drill(_text(path), name=path.name)


def drill_path(name_or_path: str) -> Path:
    """Return the path of a drill file, or of the supplied drill of that name."""
    path = Path(name_or_path)
    if _is_file(path):
        return path
    supplied = {found.stem: found for found in _files()}
    by_name = {_plain(stem): found for stem, found in supplied.items()} | supplied
    asked = name_or_path.removesuffix(SUFFIX)
    if asked in by_name:
        return by_name[asked]
    if path.suffix == SUFFIX or len(path.parts) > 1:
        raise FileError(f"there is no file {str(path)[:200]!r}: check the name and the folder")
    near = _nearest(asked, by_name)
    hint = f"did you mean {near!r}?" if near else remedy("list-drills")
    raise RequestError(f"there is no file and no supplied drill called {asked[:60]!r}; {hint}")


def _nearest(asked: str, names: Iterable[str]) -> str:
    """Return the supplied drill whose name or title is nearest to what was ``asked``, or ""."""
    titles = {_hyphened(each.title): _plain(each.name) for each in _listed()}
    called = titles | {name: name for name in names}
    near = get_close_matches(_hyphened(asked), called, n=1, cutoff=0.5)
    return called[near[0]] if near else ""


def _hyphened(title: str) -> str:
    """Return a title as names are written."""
    return "-".join(_WORD.findall(title.lower()))


def passages_at(name_or_path: str) -> tuple[Path, ...]:
    """Return the drill files and scores in the folder ``name_or_path``, or the one of that name.

    A score that a drill in the folder speaks of is that drill's, and none of its own.  A folder without
    either does not stand in the way of a supplied drill of its name.

    Raises:
        FileError: a folder without drill files or scores.
        RequestError, FileError: no such drill.
    """
    folder = Path(name_or_path)
    if not _is_folder(folder):
        return (folder,) if is_score(name_or_path) else (drill_path(name_or_path),)
    drills = sorted(path for path in folder.glob(f"*{SUFFIX}") if _is_file(path))
    spoken_of = "\n".join(map(_said_in, drills))
    scores = sorted(path for path in folder.iterdir() if is_score(path.name) and _is_file(path))
    found = [*drills, *(path for path in scores if path.name not in spoken_of)]
    if found:
        return tuple(found)
    try:
        return (drill_path(name_or_path),)
    except (FileError, RequestError):
        raise FileError(
            f"there are no drill files (*{SUFFIX}) and no scores in the folder {folder}"
        ) from None


def _said_in(drill: Path) -> str:
    """Return the text of a drill file, or nothing where it cannot be read: that is told in its turn."""
    try:
        return _text(drill)
    except (FileError, DrillError):
        return ""


def beside(drill: Path, name: str) -> Path:
    """Return the path of the file ``name`` that the drill file ``drill`` speaks of.

    Raises:
        FileError: it is missing, or a link leads out of the drill's folder.
    """
    folder = drill.resolve().parent
    path = (folder / name).resolve()
    if not path.is_relative_to(folder):
        raise FileError(f"{drill.name} names {name!r}, which leads out of the drill's folder")
    if not path.is_file():
        raise FileError(f"{drill.name} names {name!r}, but there is no such file beside it")
    return path


def _listed() -> Iterator[ShippedDrill]:
    for level, path in enumerate(_files(), start=1):
        yield _read_once(path, level, path.stat().st_mtime_ns)


@cache
def _read_once(path: Path, level: int, _changed_ns: int) -> ShippedDrill:
    """Return what a supplied drill says of itself; the page asks for all of them again and again."""
    drill = read_drill(_text(path), name=path.name)
    return ShippedDrill(path.stem, path, drill.title, drill.about, level)


def _files() -> list[Path]:
    return sorted(drills_folder().glob(f"*{SUFFIX}"))


def _plain(stem: str) -> str:
    """Return a drill's name without the number that sorts it."""
    numbered = _NUMBERED.fullmatch(stem)
    return numbered[2] if numbered else stem


def _is_file(path: Path) -> bool:
    try:
        return path.is_file()
    except (OSError, ValueError):
        return False


def _is_folder(path: Path) -> bool:
    try:
        return path.is_dir()
    except (OSError, ValueError):
        return False


def _text(path: Path) -> str:
    """Return the text of a drill file of reasonable size."""
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_DRILL + 1)
    except OSError as error:
        raise FileError(f"{path.name} cannot be read: {error.strerror or error}") from error
    if b"\0" in data and not data.startswith(UTF_16):
        raise FileError(
            f"{path.name} is no text: a passage is a drill, a score or a MIDI file, "
            "and a recording is named before the passage"
        )
    if len(data) > LARGEST_DRILL:
        raise FileError(f"{path.name} is larger than 1 MB: a drill is a short text file")
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        line = data.count(b"\n", 0, error.start) + 1
        raise DrillError(
            "this is not text in UTF-8: save it as plain text in that encoding",
            line=line,
            file=path.name,
        ) from error
