"""The page that stands between two steps of a session: what was heard, what comes next, and why.

Everything fits a terminal of 80 columns and 24 rows; on a lower one what was heard is cut first.
"""

from dataclasses import dataclass
from textwrap import wrap

WIDEST, NARROWEST = 78, 30
MARGIN = "  "
MOST_HEARD = 5


@dataclass(frozen=True, slots=True)
class Page:
    """What stands on it: ``heard`` of the step before, then ``title``, ``how`` and ``why``.

    ``pace`` is the tempo and how often; ``care`` stands below where there is something to be told
    for the body's sake.
    """

    head: str
    clock: str
    heard: tuple[str, ...]
    title: str
    pace: str
    how: tuple[str, ...]
    why: str
    foot: str
    care: str = ""


def page_lines(page: Page, columns: int, rows: int) -> tuple[str, ...]:
    """Return ``page`` in at most ``rows`` lines, none wider than ``columns``."""
    wide = max(min(columns, WIDEST), NARROWEST)
    room = max(wide - len(page.clock) - 1, 1)
    heard = [line for each in page.heard for line in _wrapped(each, wide)][:MOST_HEARD]
    before = ["What was heard", *heard, ""] if heard else []
    after = [
        f"Next: {page.title}",
        *_wrapped(page.pace, wide),
        "",
        *(line for each in page.how if each for line in _wrapped(each, wide)),
        "",
        *_wrapped(f"Why: {page.why}", wide),
        "",
        *([*_wrapped(page.care, wide), ""] if page.care else []),
        *wrap(page.foot, wide),
    ]
    head = f"{page.head[:room]:<{room}} {page.clock}"
    left = rows - len(after) - 2
    lines = [head, "", *(before if len(before) <= left else before[: max(left, 0)]), *after]
    return tuple(line[:columns].rstrip() for line in lines[:rows])


def _wrapped(words: str, wide: int) -> list[str]:
    return [f"{MARGIN}{line}" for line in wrap(words, wide - len(MARGIN))]
