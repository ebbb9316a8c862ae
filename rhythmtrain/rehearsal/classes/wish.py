"""How a class is to be heard: what was typed, then what ``class.toml`` in the folder says."""

from collections.abc import Callable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.checking.check import CheckWish
from rhythmtrain.rehearsal.passages.passages import whole_passage
from rhythmtrain.storage.class_folder import CLASS_FILE, passages_in, read_class
from rhythmtrain.storage.drills import drill_path, load_drill
from rhythmtrain.storage.scores import is_score

KINDS = ("claps", "voice", "wind", "brass", "strings", "plucked")
TIMINGS = ("click", "recording", "free")
Read = Callable[[object], Any]


@dataclass(frozen=True, slots=True)
class Asked:
    """A class: how each take is checked, and the files in its folder that are nobody's take."""

    check: CheckWish
    beside: tuple[Path, ...] = ()


def class_wish(folder: Path, passage: str | None, typed: dict[str, Any]) -> Asked:
    """Return how the class in ``folder`` is to be heard.

    ``typed`` are the options that were given, by the names of ``CheckWish``; they come before what
    the file says.

    Raises:
        RequestError: no passage is named, or a value of the file is none.
        FileError, DrillError: the file or the passage does not read.
    """
    said = _said(folder)
    name = passage or said.pop("passage", None) or _only(folder)
    said.pop("passage", None)
    if passage is None:
        name = _within(folder, name)
    values = {**said, **typed}
    for key in ("accompaniment", "beats"):
        if key in said and key not in typed:
            values[key] = folder / said[key]
    wish = replace(CheckWish(name), **values)
    whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part)
    return Asked(wish, (*_recordings(wish.passage), *_named(wish)))


def _said(folder: Path) -> dict[str, Any]:
    """Return what the class's own file says, by the names of ``CheckWish``."""
    found = {}
    for key, value in read_class(folder).items():
        if key not in KEYS:
            near = get_close_matches(key, KEYS, 1)
            hint = f"did you mean {near[0]!r}?" if near else f"there are {', '.join(KEYS)}"
            raise RequestError(f"{CLASS_FILE}: there is no {key!r}; {hint}")
        name, read = KEYS[key]
        try:
            found[name] = read(value)
        except (TypeError, ValueError) as error:
            raise RequestError(f"{CLASS_FILE}: {key} = {value!r} is not {error}") from error
    return found


def _text(value: object) -> str:
    if not isinstance(value, str):
        raise TypeError("text in quotes")
    return value


def _number(value: object) -> float:
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError("a number")
    return float(value)


def _whole(value: object) -> int:
    if isinstance(value, bool) or not isinstance(value, int):
        raise TypeError("a whole number")
    return value


def _truth(value: object) -> bool:
    if not isinstance(value, bool):
        raise TypeError("true or false")
    return value


def _one_of(allowed: tuple[str, ...]) -> Read:
    def read(value: object) -> str:
        if value not in allowed:
            raise ValueError(f"one of {', '.join(allowed)}")
        return str(value)

    return read


KEYS: dict[str, tuple[str, Read]] = {
    "passage": ("passage", _text),
    "part": ("part", _text),
    "cue-part": ("cue_part", _text),
    "bars": ("bars", _text),
    "speed": ("speed", _number),
    "tempo": ("tempo", _number),
    "repeats": ("repeats", _whole),
    "start": ("start", _number),
    "timing": ("timing", _one_of(TIMINGS)),
    "as": ("kind", _one_of(KINDS)),
    "aloud": ("aloud", _truth),
    "accompaniment": ("accompaniment", _text),
    "beats": ("beats", _text),
    "freely": ("freely", _truth),
    "meet": ("meet", _text),
}


def _only(folder: Path) -> str:
    """Return the one drill or score in the folder."""
    found = passages_in(folder)
    if len(found) == 1:
        return found[0].name
    which = "there is none" if not found else f"there are {', '.join(each.name for each in found)}"
    raise RequestError(
        f'which passage did they play? Name it, put `passage = "…"` into {folder / CLASS_FILE}, or '
        f"put one drill into {folder} ({which})"
    )


def _within(folder: Path, name: str) -> str:
    """Return the path of a passage in the folder; a supplied drill keeps its name."""
    path = folder / name
    return str(path) if path.is_file() else name


def _recordings(passage: str) -> tuple[Path, ...]:
    """Return the files that a passage names or is: they are nobody's take."""
    if is_score(passage):
        return (Path(passage),)
    drill = load_drill(passage)
    here = drill_path(passage).parent
    names: list[str | None] = []
    if drill.accompaniment is not None:
        names += [drill.accompaniment.recording, drill.accompaniment.notes]
    if drill.model is not None:
        names.append(drill.model.recording)
    return tuple(here / name for name in names if name is not None)


def _named(wish: CheckWish) -> tuple[Path, ...]:
    return tuple(each for each in (wish.accompaniment, wish.beats) if each is not None)
