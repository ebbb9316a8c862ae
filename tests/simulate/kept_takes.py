"""Takes as the history keeps them: invented, of any number, each from its own seed."""

from datetime import UTC, datetime, timedelta
from random import Random
from typing import Any

from rhythmtrain.capture.take import Heard
from rhythmtrain.storage.history.take_record import Conditions, TakeRecord

FIRST = datetime(2026, 3, 1, 19, 30, tzinfo=UTC)
DRILL = 'title = "Kitchen Rag"\nmetre = "2/4"\ntempo = 72\nrhythm = """\n1 2 | 1 & 2\n"""\n'
BARS = 16
NOTES_A_BAR = 4
BEAT_S = 0.5


def kept_take(
    number: int = 0,
    *,
    passage: str = "kitchen-rag",
    speed: float = 0.5,
    apart: timedelta = timedelta(hours=1),
    **changes: Any,
) -> TakeRecord:
    """Return take ``number``, played that many times ``apart`` after the first."""
    chance = Random(number)  # noqa: S311  (no secret)
    times = [BEAT_S * place + 0.02 * chance.random() for place in range(BARS * NOTES_A_BAR)]
    fields: dict[str, Any] = {
        "passage_name": passage,
        "title": "Kitchen Rag",
        "bars": None,
        "speed": speed,
        "repeats": 1,
        "timing": "click",
        "source": "keys",
        "instrument": "claps",
        "played_at": FIRST + number * apart,
        "onsets": tuple(Heard(time, 12 * chance.random(), 0.001) for time in times),
        "duration_s": 33.0,
        "document": heard_document(times, chance),
        "drill": DRILL,
        "conditions": Conditions(bar_numbers=(17, 18)),
    }
    return TakeRecord(**{**fields, **changes})


def heard_document(times_s: list[float], chance: Random) -> dict[str, Any]:
    """Return a document of the shape of a check's, about a take without a fault."""
    offsets = [1000 * (time - BEAT_S * place) for place, time in enumerate(times_s)]
    return {
        "passage": "Kitchen Rag",
        "tempo": 72.0,
        "take": {"source": "keys", "onsets": times_s},
        "looks_like_the_passage": True,
        "tries": [{"from_bar": 1, "to_bar": BARS, "start_s": 0.0, "complete": True}],
        "try": 0,
        "tally": {
            "expected": len(times_s),
            "matched": len(times_s),
            "missed": 0,
            "extra": 0,
            "not_checked": 0,
        },
        "offset_ms": {"median": 10.0, "mean": 10.0, "sd": 6.0, "low": 8.0, "high": 12.0},
        "notes": [heard_note(place, offset) for place, offset in enumerate(offsets)],
        "mistakes": [],
        "entries": [heard_entry(1000 * chance.uniform(-0.02, 0.02))],
        "bars": [heard_bar(bar, chance) for bar in range(1, BARS + 1)],
    }


def heard_note(place: int, offset_ms: float) -> dict[str, Any]:
    """Return one note in time."""
    return {
        "bar": place // NOTES_A_BAR + 1,
        "count": "1",
        "repeat": 1,
        "expected_s": BEAT_S * place,
        "played_s": BEAT_S * place + offset_ms / 1000,
        "offset_ms": offset_ms,
        "verdict": "in time",
        "plain": False,
    }


def heard_entry(offset_ms: float | None, verdict: str = "in time") -> dict[str, Any]:
    """Return one entry."""
    return {"bar": 9, "count": "2&", "repeat": 1, "offset_ms": offset_ms, "verdict": verdict}


def heard_bar(bar: int, chance: Random) -> dict[str, Any]:
    """Return one bar of which every note was heard."""
    return {
        "bar": bar,
        "matched": NOTES_A_BAR,
        "missed": 0,
        "extra": 0,
        "median_offset_ms": chance.uniform(-10, 10),
        "sd_ms": chance.uniform(5, 15),
    }
