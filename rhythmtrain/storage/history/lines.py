"""The history as JSON lines: one take a line, for keeping elsewhere and for other programs.

Each line is one object::

    {"rhythmtrain_take": 1, "passage": "05-off-beats", "title": "…", "bars": "17-24" | null,
     "speed": 0.6, "repeats": 2, "timing": "click", "source": "keys", "instrument": "claps",
     "played_at": "2026-03-01T19:30:00+01:00", "duration_s": 31.5, "help": "no help" | null,
     "onsets": [[time_s, strength, uncertainty_s, length_s where known], …],
     "hidden": [seconds near which an onset may have gone unheard, …],
     "drill": the passage as drill text, "bar_numbers": [17, 18, …],
     "conditions": {"practice": {"speed", "repeats", "count_in", "echo", "between"}, "start_s",
                    "speed_known", "delay_known", "stopped", "reached", and of a take played with a
                    recording "anchors": [["5/4" quarters, second], …], "doubts", "meet", and
                    of one whose accompanist was known "strokes": [["5/4" quarters, chance], …]},
     "document": what ``rhythmtrain check --json`` told}

``hidden``, ``drill``, ``bar_numbers``, ``conditions``, ``help`` and ``document`` may be missing.
Keys that are not known are passed over.
"""

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from rhythmtrain.errors import RhythmtrainError, TakeError
from rhythmtrain.storage.history.plain_json import (
    conditions_of,
    conditions_table,
    onset_lists,
    onsets_of,
    seconds_of,
)
from rhythmtrain.storage.history.take_record import Conditions, TakeRecord

FORM = "rhythmtrain_take"
NEWEST_FORM = 1
LONGEST_LINE = 64_000_000


@dataclass(frozen=True, slots=True)
class Imported:
    """How many takes were kept, how many were there already, and a sentence on each refused."""

    kept: int
    already: int
    refused: tuple[str, ...]


def line_of(record: TakeRecord) -> str:
    """Return a take as one line of JSON, without a line break."""
    told = {
        FORM: NEWEST_FORM,
        "passage": record.passage_name,
        "title": record.title,
        "bars": record.bars,
        "speed": record.speed,
        "repeats": record.repeats,
        "timing": record.timing,
        "source": record.source,
        "instrument": record.instrument,
        "played_at": record.played_at.isoformat(),
        "duration_s": record.duration_s,
        "help": record.help,
        "onsets": onset_lists(record.onsets),
        "hidden": list(record.hidden_s),
        "drill": record.drill,
        "bar_numbers": list(record.conditions.bar_numbers),
        "conditions": conditions_table(record.conditions),
        "document": record.document,
    }
    return json.dumps(told, ensure_ascii=False, allow_nan=False)


def record_of_line(line: str) -> TakeRecord:
    """Return the take that a line holds.

    Raises:
        TakeError: it holds none; the message says what is wrong.
    """
    told = _object(line)
    form = told.get(FORM)
    if form != NEWEST_FORM:
        if isinstance(form, int) and form > NEWEST_FORM:
            raise TakeError("it was written by a newer rhythmtrain: update rhythmtrain")
        raise TakeError(f'it is no take: one has "{FORM}": {NEWEST_FORM}')
    try:
        return _record(told)
    except KeyError as error:
        raise TakeError(f"{error.args[0]} is missing") from error
    except RhythmtrainError as error:
        raise TakeError(str(error)) from error
    except (ValueError, TypeError, AttributeError, ArithmeticError) as error:
        raise TakeError(f"a value is of the wrong kind: {error}") from error


def records_of_lines(lines: Iterable[tuple[int, str]], refused: list[str]) -> Iterator[TakeRecord]:
    """Yield the takes in numbered ``lines``; ``refused`` is given a sentence for each that holds none."""
    for number, line in lines:
        if line.strip():
            try:
                yield record_of_line(line)
            except TakeError as error:
                refused.append(f"line {number} was not kept: {error}")


def _record(told: dict[str, Any]) -> TakeRecord:
    conditions = Conditions()
    if told.get("conditions") is not None:
        conditions = conditions_of(dict(told["conditions"]), told.get("bar_numbers") or ())
    return TakeRecord(
        told["passage"],
        told["title"],
        told["bars"],
        float(told["speed"]),
        int(told["repeats"]),
        told["timing"],
        told["source"],
        told["instrument"],
        datetime.fromisoformat(told["played_at"]),
        onsets_of(told["onsets"]),
        float(told["duration_s"]),
        dict(told.get("document") or {}),
        told.get("help"),
        told.get("drill") or "",
        conditions,
        seconds_of(told.get("hidden") or ()),
    )


def _object(line: str) -> dict[str, Any]:
    if len(line) > LONGEST_LINE:
        raise TakeError("it is too long for a take")
    try:
        told = json.loads(line, parse_constant=_no_number)
    except (ValueError, RecursionError) as error:
        raise TakeError("it is not JSON") from error
    if not isinstance(told, dict):
        raise TakeError("it is no JSON object")
    return told


def _no_number(word: str) -> float:
    raise ValueError(word)
