"""Progress for a terminal: what to do today and why, then tempi, entries and bars."""

from collections.abc import Sequence
from datetime import date

from rhythmtrain.coach.today import Item, Today
from rhythmtrain.remedies import remedy
from rhythmtrain.report.days.history_text import day_in_words
from rhythmtrain.report.days.view import BarRow, Progress
from rhythmtrain.report.days.words import (
    NOTHING_YET,
    entry_in_words,
    entry_name,
    even_in_words,
    habit_in_words,
    missed_in_words,
    span_in_words,
    tempo_sentences,
)
from rhythmtrain.report.lines import hanging, table
from rhythmtrain.report.practising.today import later_in_words, todo_in_words, why_in_words
from rhythmtrain.report.take.commands import go_on, typed
from rhythmtrain.report.words import bar_in_words, runs, sentence, several

MOST_BARS = 40
MOST_LATER = 6
NOTHING_TODAY = "Nothing is due today: what rests some nights stays better."


def progress_text(progress: Progress, plan: Today, today: date) -> str:
    """Return what is told of one passage."""
    head = [progress.state.title, span_in_words(progress)]
    tempi = [hanging("", line, indent=2) for line in tempo_sentences(progress)]
    blocks = [
        "\n".join(head),
        today_text(plan, today, (progress,)),
        "\n".join(["Tempo", *tempi]),
        _entries(progress),
        _bars(progress.bars),
    ]
    return "\n\n".join(block for block in blocks if block)


def overview_text(passages: Sequence[Progress], plan: Today, today: date) -> str:
    """Return what is told of all passages together."""
    if not passages:
        return "\n".join(hanging("", NOTHING_YET, indent=0).splitlines())
    rows = [
        (each.state.title, f"{_reached(each)}; {_last(each)}; {several(each.takes, 'take')}")
        for each in passages
    ]
    blocks = [
        today_text(plan, today, passages),
        "\n".join(["What was practised", table(rows)]),
        "Look closer: rhythmtrain progress PASSAGE, with --report page.html for a page",
    ]
    return "\n\n".join(blocks)


def today_text(plan: Today, today: date, passages: Sequence[Progress]) -> str:
    """Return what to do today, numbered, each with its reason and what to type."""
    lines = ["Today"]
    parts = {each.state.passage: each.part for each in passages}
    for number, item in enumerate(plan.items, start=1):
        lines.append(hanging(f"  {number}", sentence(todo_in_words(item)), indent=5))
        lines.append(hanging("", why_in_words(item), indent=5))
        lines.append(hanging("", command(item, parts.get(item.passage)), indent=7))
    if led_through(plan):
        lines.append(hanging("", f"Or be led through it: {led_through(plan)}", indent=2))
    if not plan.items:
        lines.append(hanging("  ", NOTHING_TODAY, indent=2))
    later = plan.later[:MOST_LATER]
    if later:
        lines += ["", "Not today"]
        lines += [hanging("", later_in_words(each, today), indent=2) for each in later]
    if len(plan.later) > len(later):
        lines.append(f"  and {several(len(plan.later) - len(later), 'passage')} more")
    return "\n".join(lines)


def led_through(plan: Today) -> str:
    """Return what to type to be led through the first passage of today, "" where none is due."""
    return go_on(plan.items[0].passage) if plan.items else ""


def command(item: Item, part: str | None = None) -> str:
    """Return what to type for one thing to do; ``part`` are the bars practised for the passage."""
    name = typed(item.passage)
    if item.entry is not None:
        return f"rhythmtrain enter {name} --entry {item.entry[0]} --tempo {item.tempo:g}"
    some = runs(item.bars)[0] if item.bars else []
    which = "-".join(map(str, sorted({some[0], some[-1]}))) if some else part
    bars = f" --bars {which}" if which else ""
    return f"rhythmtrain clap {name}{bars} --tempo {item.tempo:g} --repeats 4"


def _entries(progress: Progress) -> str:
    rows = [(entry_name(row), entry_in_words(row)) for row in progress.entries]
    return "\n".join(["Entries", table(rows)]) if rows else ""


def _bars(bars: Sequence[BarRow]) -> str:
    rows = [
        (bar_in_words(row.bar), "; ".join(each for each in _said(row) if each))
        for row in bars[:MOST_BARS]
    ]
    left = len(bars) - MOST_BARS
    more = [f"  and {left} more{remedy('all-in-a-report', 'page.html')}"] if left > 0 else []
    return "\n".join(["Bars", table(rows), *more]) if rows else ""


def _said(row: BarRow) -> tuple[str, ...]:
    return even_in_words(row), missed_in_words(row), habit_in_words(row.habit_s)


def _reached(each: Progress) -> str:
    tempo = f"{each.state.tempo:.3g}"
    if each.state.reached is None:
        return f"no tempo sure yet of {tempo}"
    return f"{each.state.reached:g} of {tempo} is sure"


def _last(each: Progress) -> str:
    return f"last on {day_in_words(each.days[-1].isoformat())}" if each.days else "not heard yet"
