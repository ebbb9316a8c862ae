"""Takes that were kept, as a list to read: one row a take, the newest first."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from rhythmtrain.report.lines import WIDTH
from rhythmtrain.report.words import number, several

NONE_YET = (
    "Nothing is in your history yet. What you play with `rhythmtrain clap` and `rhythmtrain enter` "
    "is kept by itself, a recording with `rhythmtrain check TAKE PASSAGE --keep`."
)
MONTHS = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September", "October", "November", "December",
)  # fmt: skip
NARROWEST_TITLE = 12
ANOTHER = "another piece"
UNJUDGED = "not judged"
CUT = "…"


@dataclass(frozen=True, slots=True)
class TakeLine:
    """What a list says of a take; the fields are named as the history names them."""

    id: int
    title: str
    bars: str | None
    day: str
    tempo: float | None
    looks_like: bool | None
    complete: bool
    expected: int
    missed: int
    not_checked: int
    plain: int
    mistakes: int


def history_text(takes: Sequence[TakeLine], *, more: bool) -> str:
    """Return the table of takes; ``more`` says that there are older ones."""
    if not takes:
        return NONE_YET
    rows = [
        (str(each.id), day_in_words(each.day), _title(each), _tempo(each), went(each))
        for each in takes
    ]
    heads = ("take", "day", "passage", "tempo", "how it went")
    wide = [max(len(row[place]) for row in (heads, *rows)) for place in range(len(heads))]
    wide[2] = max(NARROWEST_TITLE, min(wide[2], WIDTH - sum(wide) - 2 * len(wide) + 2 + wide[2]))
    lines = [_line(row, wide) for row in (heads, *rows)]
    lines += ["", "See one again: rhythmtrain history show NUMBER"]
    if more:
        lines.append("There are older ones: --limit says how many are listed.")
    return "\n".join(lines)


def day_in_words(day: str, *, year: bool = True) -> str:
    """Return "2026-03-01" as "1 Mar 2026", what is no date as it is."""
    try:
        when = date.fromisoformat(day)
    except ValueError:
        return day
    words = f"{when.day} {MONTHS[when.month - 1][:3]}"
    return f"{words} {when.year}" if year else words


def went(take: TakeLine) -> str:
    """Return in few words how a take went."""
    if take.looks_like is False:
        return ANOTHER
    if not take.expected:
        return UNJUDGED
    found = [words for words in _amiss(take) if words]
    if not found:
        return "nothing stood out" if take.complete else "a part; nothing stood out"
    return ", ".join(found) if take.complete else f"a part; {', '.join(found)}"


def _amiss(take: TakeLine) -> tuple[str, ...]:
    checked = take.expected - take.not_checked
    # What was not heard at all counts as plain too.
    off = take.plain - take.missed
    return (
        f"{take.missed} of {checked} not heard" if take.missed else "",
        f"{number(off)} early or late" if off > 0 else "",
        f"{several(take.mistakes, 'figure')} misread" if take.mistakes else "",
    )


def _title(take: TakeLine) -> str:
    return f"{take.title}, {take.bars}" if take.bars else take.title


def _tempo(take: TakeLine) -> str:
    return "" if take.tempo is None else f"{take.tempo:.3g}"


def _line(row: tuple[str, ...], wide: Sequence[int]) -> str:
    cells = [_fitted(cell, width) for cell, width in zip(row[:-1], wide, strict=False)]
    return "  ".join(
        [
            cells[0].rjust(wide[0]),
            *(c.ljust(w) for c, w in zip(cells[1:], wide[1:], strict=False)),
            row[-1],
        ]
    )


def _fitted(cell: str, width: int) -> str:
    return cell if len(cell) <= width else cell[: width - 1] + CUT
