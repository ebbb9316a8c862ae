"""Where things lie in the picture of progress, in points: panels, days, and the common scale."""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import ClassVar

from rhythmtrain.report.days.view import BarRow

WIDE, LEFT, ROW, HEAD = 392.0, 42.0, 34.0, 18.0
PANEL, BETWEEN = 106.0, 12.0
FIRST_X = 5.0
MARGIN = 3.0
# The scales in seconds: never so fine that an even player's points jump about.
LEAST_SPREAD_S, LEAST_HABIT_S = 0.06, 0.06


@dataclass(frozen=True, slots=True)
class Panel:
    """One panel of a row: where it begins and ends."""

    left: float
    right: float

    def y(self, share: float, top: float) -> float:
        """Return how far down a share of the scale lies in the row at ``top``; 1 is highest."""
        inside = min(max(share, 0.0), 1.0)
        return top + ROW - MARGIN - inside * (ROW - 2 * MARGIN)


PANELS: tuple[Panel, ...] = tuple(
    Panel(LEFT + place * (PANEL + BETWEEN), LEFT + place * (PANEL + BETWEEN) + PANEL)
    for place in range(3)
)


class Days:
    """Where days lie along a panel: as on a calendar, a single one at its beginning."""

    CLOSE: ClassVar[int] = 30

    def __init__(self, days: Sequence[date]) -> None:
        """Keep the first and the last of ``days``; at least one must be given."""
        self.first, self.last = days[0], days[-1]

    def x(self, day: date, panel: Panel) -> float:
        """Return where ``day`` lies."""
        span = (self.last - self.first).days
        share = (day - self.first).days / span if span else 0.0
        return panel.left + FIRST_X + share * (panel.right - panel.left - 2 * FIRST_X)


def bar_scale(rows: Sequence[BarRow]) -> tuple[float, float]:
    """Return the largest spread and the largest habit that are drawn, in seconds."""
    spreads = [day.spread_s for row in rows for day in row.days if day.spread_s is not None]
    steady = [1.2 * day.steady_s for row in rows for day in row.days]
    habits = [abs(day.habit_s) for row in rows for day in row.days if day.habit_s is not None]
    return max([LEAST_SPREAD_S, *spreads, *steady]), max([LEAST_HABIT_S, *habits])
