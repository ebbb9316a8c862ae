"""From a record to the rows of the history and back.

The document of a check is read with an open hand: it may come from an older version or another
machine, and what it does not say counts as nothing or stays unknown.  Milliseconds become seconds
here.
"""

import hashlib
import json
import math
import zlib
from datetime import UTC, datetime, timedelta, timezone
from typing import Any

from rhythmtrain.storage.history.plain_json import (
    conditions_of,
    conditions_table,
    onsets_of,
    onsets_text,
    seconds_of,
)
from rhythmtrain.storage.history.take_record import TakeRecord, utc_text

Row = dict[str, Any]
TALLY = ("expected", "matched", "missed", "extra", "not_checked")
PARTS = ("played", "bars", "entries")
MOST = 2**31 - 1


def mark_of(record: TakeRecord) -> bytes:
    """Return what tells this take from every other, on any machine: passage, time and onsets."""
    told = [
        record.passage_name,
        record.bars,
        record.played_at.astimezone(UTC).isoformat(),
        record.source,
        onsets_text(record.onsets),
    ]
    return hashlib.sha256(json.dumps(told).encode()).digest()[:16]


def rhythm_row(record: TakeRecord) -> Row:
    """Return the row of the passage as it was written then."""
    numbers = json.dumps(record.conditions.bar_numbers)
    digest = hashlib.sha256(f"{record.drill}\0{numbers}".encode()).digest()[:16]
    return {"digest": digest, "drill": record.drill, "bar_numbers": numbers}


def take_row(record: TakeRecord) -> Row:
    """Return the narrow row of a take, without the rhythm's number."""
    document = record.document
    tally = _table(document.get("tally"))
    offsets = _table(document.get("offset_ms"))
    tempo = _number(document.get("tempo"))
    return {
        "mark": mark_of(record),
        "passage": record.passage_name,
        "title": record.title,
        "bars": record.bars,
        "played_at": utc_text(record.played_at),
        "zone_s": int((record.played_at.utcoffset() or timedelta()).total_seconds()),
        "day": record.day,
        "tempo": None if tempo is None else tempo * record.speed,
        "speed": record.speed,
        "repeats": record.repeats,
        "timing": record.timing,
        "source": record.source,
        "instrument": record.instrument,
        "help": record.help,
        "duration_s": record.duration_s,
        "conditions": json.dumps(conditions_table(record.conditions), separators=(",", ":")),
        "looks_like": _truth(document.get("looks_like_the_passage")),
        "complete": _complete(document),
        **{name: _whole(tally.get(name)) for name in TALLY},
        "plain": sum(each.get("plain") is True for each in _tables(document.get("notes"))),
        "mistakes": len(_tables(document.get("mistakes"))),
        "habit_s": _seconds(offsets.get("median")),
        "spread_s": _seconds(offsets.get("sd")),
    }


def parts_of(record: TakeRecord) -> dict[str, list[Row]]:
    """Return the rows of a take in its other tables, without the take's number."""
    rows = ([_played(record)], _bars(record.document), _entries(record.document))
    return dict(zip(PARTS, rows, strict=True))


def record_of(take: Row, played: Row, rhythm: Row | None) -> TakeRecord:
    """Return the record whose rows these are; without a document it has an empty one.

    Raises:
        ValueError, TypeError, KeyError, zlib.error, RhythmtrainError: rows that were damaged; the
            mark notices a single digit of an onset that is not what it was.
    """
    zone = timezone(timedelta(seconds=take["zone_s"]))
    packed = played["document"]
    numbers = json.loads(rhythm["bar_numbers"]) if rhythm else []
    record = TakeRecord(
        take["passage"],
        take["title"],
        take["bars"],
        take["speed"],
        take["repeats"],
        take["timing"],
        take["source"],
        take["instrument"],
        datetime.fromisoformat(take["played_at"]).replace(tzinfo=UTC).astimezone(zone),
        onsets_of(json.loads(played["onsets"])),
        take["duration_s"],
        json.loads(zlib.decompress(packed)) if packed else {},
        take["help"],
        rhythm["drill"] if rhythm else "",
        conditions_of(json.loads(take["conditions"]), numbers),
        seconds_of(json.loads(played["hidden"])) if played.get("hidden") else (),
    )
    if mark_of(record) != take["mark"]:
        raise ValueError("the onsets are not those that were kept")
    return record


def _bars(document: dict[str, Any]) -> list[Row]:
    """Return one row for each bar that the document speaks of."""
    rows = {
        _whole(each.get("bar")): {
            "bar": _whole(each.get("bar")),
            **{name: _whole(each.get(name)) for name in ("matched", "missed", "extra")},
            "habit_s": _seconds(each.get("median_offset_ms")),
            "spread_s": _seconds(each.get("sd_ms")),
        }
        for each in _tables(document.get("bars"))
    }
    return list(rows.values())


def _entries(document: dict[str, Any]) -> list[Row]:
    """Return one row for each entry that the document speaks of."""
    return [
        {
            "place": place,
            "bar": _whole(each.get("bar")),
            "count": _text(each.get("count")),
            "offset_s": _seconds(each.get("offset_ms")),
            "verdict": _text(each.get("verdict")),
        }
        for place, each in enumerate(_tables(document.get("entries")))
    ]


def _played(record: TakeRecord) -> Row:
    """Return what is long of a take: onsets and hidden times as text, the document packed."""
    text = json.dumps(record.document, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return {
        "onsets": onsets_text(record.onsets),
        "document": zlib.compress(text.encode()),
        "hidden": json.dumps(record.hidden_s, separators=(",", ":")),
    }


def _complete(document: dict[str, Any]) -> bool:
    """Return whether the try that the document is about went through the whole passage."""
    tries, shown = _tables(document.get("tries")), document.get("try")
    if not isinstance(shown, int) or not 0 <= shown < len(tries):
        return False
    return tries[shown].get("complete") is True


def _table(value: object) -> dict[str, Any]:
    return value if isinstance(value, dict) else {}


def _tables(value: object) -> list[dict[str, Any]]:
    return [each for each in value if isinstance(each, dict)] if isinstance(value, list) else []


def _text(value: object) -> str:
    return value if isinstance(value, str) else ""


def _truth(value: object) -> bool | None:
    return value if isinstance(value, bool) else None


def _number(value: object) -> float | None:
    if isinstance(value, bool) or not isinstance(value, int | float) or abs(value) > MOST:
        return None
    return float(value) if math.isfinite(value) else None


def _whole(value: object) -> int:
    number = _number(value)
    return 0 if number is None else int(number)


def _seconds(milliseconds: object) -> float | None:
    number = _number(milliseconds)
    return None if number is None else number / 1000
