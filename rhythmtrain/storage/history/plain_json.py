"""Onsets and conditions of a take as plain JSON, and back: in the file and in the lines of an export.

Numbers are written so exactly that judging again gives the same; what is missing was unknown to an older
version, and what is not known here was added by a newer one.
"""

import json
from collections.abc import Callable, Iterable
from dataclasses import asdict
from fractions import Fraction
from typing import Any

from rhythmtrain.capture.take import Heard
from rhythmtrain.score.countline.short_bars import CutShort
from rhythmtrain.storage.history.take_record import Conditions, Laid
from rhythmtrain.timing.playing_order import Practice

LAID = ("anchors", "doubts", "strokes")
PRACTICE: dict[str, Callable[[Any], Any]] = {
    "speed": float, "repeats": int, "count_in": int, "echo": int, "between": int,
}  # fmt: skip
CONDITIONS: dict[str, Callable[[Any], Any]] = {
    "start_s": float, "speed_known": bool, "delay_known": bool, "stopped": bool, "reached": int,
    "one_go": bool,
}  # fmt: skip


def onsets_text(onsets: Iterable[Heard]) -> str:
    """Return onsets as JSON: time, strength, uncertainty, and length where that is known."""
    return json.dumps(onset_lists(onsets), separators=(",", ":"))


def onset_lists(onsets: Iterable[Heard]) -> list[list[float]]:
    """Return each onset as a list of numbers, so exact that judging again gives the same."""
    rows = []
    for each in onsets:
        numbers = [each.time_s, each.strength, each.uncertainty_s]
        numbers += [] if each.length_s is None else [each.length_s]
        rows.append([float(number) for number in numbers])
    return rows


def onsets_of(rows: list[list[float]]) -> tuple[Heard, ...]:
    """Return the onsets that ``onset_lists`` made lists of."""
    return tuple(Heard(*(float(number) for number in row)) for row in rows)


def seconds_of(numbers: Iterable[float]) -> tuple[float, ...]:
    """Return times that were kept as JSON."""
    return tuple(float(number) for number in numbers)


def conditions_of(told: dict[str, Any], bar_numbers: Iterable[int]) -> Conditions:
    """Return the conditions that were kept as JSON; what a newer version added is passed over."""
    practised = _typed(told["practice"], PRACTICE)
    return Conditions(
        Practice(**practised),
        bar_numbers=tuple(int(number) for number in bar_numbers),
        anchors=_laid_of(told.get("anchors") or ()),
        doubts=_laid_of(told.get("doubts") or ()),
        strokes=_strokes_of(told.get("strokes") or ()),
        cut_short=tuple(
            CutShort(int(index), str(metre), Fraction(str(begins)))
            for index, metre, begins in told.get("cut_short") or ()
        ),
        meet=None if told.get("meet") is None else tuple(int(bar) for bar in told["meet"]),
        **_typed(told, CONDITIONS),
    )


def conditions_table(conditions: Conditions) -> dict[str, Any]:
    """Return the conditions as plain JSON, without the bar numbers."""
    table = asdict(conditions)
    del table["bar_numbers"]
    for name in LAID:
        table[name] = [[str(at), known] for at, known in table[name]]
    table["cut_short"] = [[cut.index, cut.metre, str(cut.begins)] for cut in conditions.cut_short]
    return table


def _strokes_of(rows: Iterable[Any]) -> Laid:
    """Return the accompanist's strokes; an early version kept whether each was sure, not its chance."""
    sure = {True: 1.0, False: 0.5}
    told = ((at, sure[known] if isinstance(known, bool) else known) for at, known in rows)
    return _laid_of(told)


def _laid_of(rows: Iterable[Any]) -> Laid:
    """Return quarters and seconds that were kept as JSON."""
    return tuple((Fraction(str(at)), float(second)) for at, second in rows)


def _typed(told: dict[str, Any], types: dict[str, Callable[[Any], Any]]) -> dict[str, Any]:
    """Return the values of ``told`` that ``types`` names, each of its type, or None."""
    known = {name: told[name] for name in types if name in told}
    return {name: None if value is None else types[name](value) for name, value in known.items()}
