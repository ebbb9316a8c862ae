"""The help a person gave, kept in the beat map itself, so that one more mark solves all afresh.

It stands in comments, which say the options as they were typed and the taps in seconds:

    # kept: bars 45-50
    # kept: at 47=1:36.2
    # kept: tapped 92.412 93.010 93.602

Whoever maps again with ``--again`` takes it all from there; what is typed now comes before it, and
a new mark for a place replaces the old one.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.recorded.marks import MapWish
from rhythmtrain.remedies import remedy
from rhythmtrain.storage.beat_maps import load_beat_map, read_map_text

SIGN = "# kept: "
TAPS_A_LINE = 10


@dataclass(frozen=True, slots=True)
class _Kept:
    """One thing that is kept: its field in the wish, and how its words are read."""

    field: str
    read: Callable[[str], Any] = str


KEPT: dict[str, _Kept] = {
    "bars": _Kept("bars"),
    "bars-count": _Kept("bars_count", int),
    "from": _Kept("start"),
    "end": _Kept("end"),
    "metre": _Kept("metre"),
    "beat": _Kept("beat"),
    "tempo": _Kept("tempo", float),
    "notes": _Kept("notes", Path),
    "part": _Kept("part"),
    "order": _Kept("order"),
}
PLAIN = MapWish()


def kept_lines(wish: MapWish, taps_s: Sequence[float]) -> str:
    """Return the lines, for the head of a beat map, that keep ``wish`` and the taps."""
    lines = []
    for word, kept in KEPT.items():
        value = getattr(wish, kept.field)
        if _typed(wish, kept.field) or (word == "metre" and wish.notes is None):
            lines.append(f"kept: {word} {value}")
    lines += [f"kept: at {mark}" for mark in wish.at]
    for start in range(0, len(taps_s), TAPS_A_LINE):
        row = " ".join(f"{time:.4f}" for time in taps_s[start : start + TAPS_A_LINE])
        lines.append(f"kept: tapped {row}")
    return "\n".join(lines)


def taken_up(wish: MapWish) -> MapWish:
    """Return ``wish`` with what is kept in the beat map it names under ``again``.

    Raises:
        RequestError: nothing is kept there.
        FileError, TakeError: the file does not read.
    """
    if wish.again is None:
        return wish
    load_beat_map(wish.again)
    kept, marks, taps = _read(wish.again)
    if not (marks or taps or "notes" in kept):
        raise RequestError(
            f"{wish.again} keeps no taps or marks to map again from: give them{remedy('by-taps-and-marks')}"
        )
    changes = {field: value for field, value in kept.items() if not _typed(wish, field)}
    if wish.taps is None and not wish.live:
        changes["tapped_s"] = taps
    changes["output"] = wish.output or wish.again
    return replace(wish, at=_together(marks, wish.at), **changes)


def _typed(wish: MapWish, field: str) -> bool:
    return bool(getattr(wish, field) != getattr(PLAIN, field))


def _read(path: Path) -> tuple[dict[str, Any], tuple[str, ...], tuple[float, ...]]:
    """Return what the beat map at ``path`` keeps: fields of the wish, marks, taps."""
    kept: dict[str, Any] = {}
    marks: list[str] = []
    taps: list[float] = []
    lines = read_map_text(path).splitlines()
    for line in (line for line in lines if line.startswith(SIGN)):
        word, _, value = line.removeprefix(SIGN).strip().partition(" ")
        try:
            if word in KEPT:
                kept[KEPT[word].field] = KEPT[word].read(value)
            elif word == "at":
                marks.append(value)
            elif word == "tapped":
                taps += [float(each) for each in value.split()]
        except ValueError as error:
            raise FileError(f"{path}: the line {line[:60]!r} does not read") from error
    return kept, tuple(marks), tuple(taps)


def _together(kept: Sequence[str], now: Sequence[str]) -> tuple[str, ...]:
    """Return the marks kept and those of now, which replace older ones of the same place."""
    by_place = {_place(mark): mark for mark in (*kept, *now)}
    return tuple(by_place.values())


def _place(mark: str) -> str:
    return mark.partition("=")[0].strip().removesuffix(".1")
