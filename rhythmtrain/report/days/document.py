"""Progress as a JSON document: milliseconds and days as people write them, numbers in full."""

from typing import Any

from rhythmtrain.coach.today import Item, Later, Today
from rhythmtrain.report.days.view import BarOnDay, BarRow, EntryOnDay, EntryRow, Progress
from rhythmtrain.report.practising.today import todo_in_words, why_in_words

Document = dict[str, Any]


def progress_json(passages: tuple[Progress, ...], plan: Today, *, in_full: bool) -> Document:
    """Return the document: what to do today, what is for later, and each passage.

    Only ``in_full`` a passage is told bar by bar and day by day.
    """
    return {
        "today": [_item(each) for each in plan.items],
        "later": [_later(each) for each in plan.later],
        "passages": [_passage(each) | (_by_day(each) if in_full else {}) for each in passages],
    }


def _item(item: Item) -> Document:
    entry = None if item.entry is None else {"bar": item.entry[0], "count": item.entry[1]}
    return {
        "passage": item.passage,
        "title": item.title,
        "bars": list(item.bars),
        "entry": entry,
        "tempo": float(item.tempo),
        "why": item.why.value,
        "words": todo_in_words(item),
        "reason": why_in_words(item),
        "nights": item.nights,
    }


def _later(later: Later) -> Document:
    return {
        "passage": later.passage,
        "title": later.title,
        "due": later.due.isoformat(),
        "why": later.why.value,
    }


def _passage(progress: Progress) -> Document:
    state = progress.state
    return {
        "passage": state.passage,
        "title": state.title,
        "tempo": state.tempo,
        "reached": None if state.reached is None else float(state.reached),
        "next_tempo": float(state.next_tempo),
        "takes": progress.takes,
        "weak_bars": list(state.weak_bars),
        "last_day": progress.days[-1].isoformat() if progress.days else None,
    }


def _by_day(progress: Progress) -> Document:
    return {
        "days": [day.isoformat() for day in progress.days],
        "tempi": [
            {
                "day": each.day.isoformat(),
                "tempo": each.tempo,
                "takes": each.takes,
                "without_a_fault": each.right,
            }
            for each in progress.tempi
        ],
        "entries": [_entry(row) for row in progress.entries],
        "bars": [_bar(row) for row in progress.bars],
    }


def _entry(row: EntryRow) -> Document:
    return {"bar": row.bar, "count": row.count, "days": [_entry_day(day) for day in row.days]}


def _entry_day(day: EntryOnDay) -> Document:
    return {
        "day": day.day.isoformat(),
        "alone": day.alone,
        "tries": day.tries,
        "in_time": day.in_time,
        "best_ms": _ms(day.best_s),
        "last_ms": _ms(day.last_s),
        "last": day.last_verdict,
    }


def _bar(row: BarRow) -> Document:
    even = row.skill.evenness if row.skill else None
    return {
        "bar": row.bar,
        "weak": row.skill.weak if row.skill else False,
        "evenness": None
        if even is None
        else {"ratio": even.ratio, "low": even.low, "high": even.high},
        "days": [_bar_day(day) for day in row.days],
    }


def _bar_day(day: BarOnDay) -> Document:
    return {
        "day": day.day.isoformat(),
        "matched": day.matched,
        "missed": day.missed,
        "extra": day.extra,
        "sd_ms": _ms(day.spread_s),
        "steady_ms": _ms(day.steady_s),
        "habit_ms": _ms(day.habit_s),
    }


def _ms(seconds: float | None) -> float | None:
    return None if seconds is None else 1000 * seconds
