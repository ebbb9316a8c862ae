"""The page of progress: what to do today and why, then each passage with its picture.

One HTML file that needs nothing beside it, for a phone, a screen or paper.
"""

from collections.abc import Callable, Sequence
from datetime import date
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from rhythmtrain.coach.today import Today
from rhythmtrain.remedies import remedy
from rhythmtrain.report.days.history_text import day_in_words
from rhythmtrain.report.days.picture import drawn_bars, drawn_days, progress_svg
from rhythmtrain.report.days.text import NOTHING_TODAY, command, led_through
from rhythmtrain.report.days.view import Progress
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
from rhythmtrain.report.practising.today import later_in_words, todo_in_words, why_in_words
from rhythmtrain.report.take.page import IDENTITY
from rhythmtrain.report.words import bar_in_words, sentence

MOST_PICTURES = 12


def progress_page(
    passages: Sequence[Progress],
    plan: Today,
    today: date,
    *,
    words: Callable[[str], str] = str,
) -> str:
    """Return the whole page as HTML text; pictures of the passages practised last.

    ``words`` are those of the edge for which it is made.
    """
    page = Environment(
        loader=PackageLoader("rhythmtrain.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    ).get_template("progress.html")  # fmt: skip
    parts = {each.state.passage: each.part for each in passages}
    return page.render(
        day=day_in_words(today.isoformat()),
        items=[
            {
                "todo": sentence(todo_in_words(item)),
                "why": why_in_words(item),
                "command": words(remedy("type", command(item, parts.get(item.passage)))),
            }
            for item in plan.items
        ],
        led=words(remedy("type", led_through(plan))),
        later=[later_in_words(each, today) for each in plan.later],
        nothing=NOTHING_TODAY if passages else words(NOTHING_YET),
        passages=[_passage(each, number) for number, each in enumerate(passages)],
    )


def _passage(progress: Progress, number: int) -> dict[str, Any]:
    shown = number < MOST_PICTURES and bool(progress.days)
    drawn = drawn_days(progress)
    left = len(drawn.bars) - len(drawn_bars(drawn))
    return {
        "title": progress.state.title,
        "span": span_in_words(progress),
        "tempo": tempo_sentences(progress),
        "picture": IDENTITY.sub(rf"\1p{number}-", progress_svg(progress)) if shown else "",
        "not_drawn": left,
        "days_drawn": len(drawn.days) if drawn is not progress else 0,
        "entries": [(entry_name(row), entry_in_words(row)) for row in progress.entries],
        "bars": [
            (
                bar_in_words(row.bar),
                even_in_words(row),
                habit_in_words(row.habit_s),
                missed_in_words(row),
            )
            for row in progress.bars
        ],
    }
