"""How surely something is known that went right so many times and wrong so many times.

With r right and w wrong runs, and nothing known before, the true share of right runs has the
distribution Beta(r + 1, w + 1).  Runs of other days count less, by half after so many nights, so
what was not played for long is known less surely; r and w are then no whole numbers.  One more
right run always makes every share *at least* as likely to be exceeded, which is why nothing that
is decided by ``beyond`` can come out lower for it.

The distribution function is the regularised incomplete beta function, by its continued fraction
(Didonato and Morris 1992; the modified method of Lentz 1976).
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from math import exp, inf, lgamma, log, log1p

TINY = 1e-300
CLOSE = 1e-13
MOST_TERMS = 500
HALVINGS = 50
Row = tuple[date, int, int]


@dataclass(frozen=True, slots=True)
class Estimate:
    """What is known of a share: ``right`` and ``wrong`` runs, each as much as it counts now."""

    right: float = 0.0
    wrong: float = 0.0

    @property
    def runs(self) -> float:
        """Return how many runs it rests on, as much as they count."""
        return self.right + self.wrong

    @property
    def share(self) -> float:
        """Return the expected share of right runs, 0 to 1."""
        return (self.right + 1) / (self.runs + 2)

    def beyond(self, share: float) -> float:
        """Return the probability that the true share is ``share`` or more."""
        return 1.0 - beta_below(share, self.right + 1, self.wrong + 1)

    def between(self, sure: float = 0.9) -> tuple[float, float]:
        """Return from where to where the true share lies with probability ``sure``, in the middle."""
        tail = (1 - sure) / 2
        return self._where(tail), self._where(1 - tail)

    def _where(self, below: float) -> float:
        low, high = 0.0, 1.0
        for _ in range(HALVINGS):
            middle = (low + high) / 2
            if beta_below(middle, self.right + 1, self.wrong + 1) < below:
                low = middle
            else:
                high = middle
        return (low + high) / 2


NOTHING_KNOWN = Estimate()


def estimate(rows: Sequence[Row], on: date, half_nights: float, window: float = inf) -> Estimate:
    """Return what is known on the day ``on`` of (day, runs, right), in rising order of days.

    Later days are left out.  Only the last ``window`` runs count: of a row that lies partly within
    the window, as large a share.
    """
    right = wrong = 0.0
    for day, runs, went_right in reversed(rows):
        nights = (on - day).days
        if nights >= 0 and runs:
            counts = min(window / runs, 1.0) * 0.5 ** (nights / half_nights)
            right += counts * went_right
            wrong += counts * (runs - went_right)
            window -= runs
        if window <= 0:
            break
    return Estimate(right, wrong)


def beta_below(x: float, a: float, b: float) -> float:
    """Return the probability that a value distributed as Beta(a, b) lies below ``x``."""
    if x <= 0:
        return 0.0
    if x >= 1:
        return 1.0
    if x > (a + 1) / (a + b + 2):
        return 1.0 - beta_below(1 - x, b, a)
    front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log1p(-x))
    return front * _fraction(x, a, b) / a


def _fraction(x: float, a: float, b: float) -> float:
    """Return the continued fraction, evaluated forwards."""
    c, d = 1.0, _kept(1 - (a + b) * x / (a + 1))
    d = 1 / d
    value = d
    for m in range(1, MOST_TERMS):
        even = m * (b - m) * x / ((a + 2 * m - 1) * (a + 2 * m))
        odd = -(a + m) * (a + b + m) * x / ((a + 2 * m) * (a + 2 * m + 1))
        for term in (even, odd):
            d = 1 / _kept(1 + term * d)
            c = _kept(1 + term / c)
            value *= c * d
        if abs(c * d - 1) < CLOSE:
            break
    return value


def _kept(value: float) -> float:
    """Return ``value``, kept away from zero."""
    return value if abs(value) > TINY else TINY
