"""Taking offsets apart: the habit, getting faster or slower, unevenness, slips.

In this order: the *habit* is the median; *drift* is the Theil-Sen slope of what remains (Theil
1950, Sen 1968), *unsteadiness* the robust standard deviation (1.4826 MAD) of what is left after
it, and a *slip* lies more than four of those away.  Each step is blind to what the later ones
find, so that one slip does not make a player look uneven, nor drift make them look late.

How well a habit is known does not follow from the spread within one take, because people differ
from take to take: against the same person's other takes the mean of 4, 8, 16, 24 taps is known to
55, 47, 38, 32 ms (95 %, measured on the open data of Baath & Madison 2012).
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.findings import Spread

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

ROBUST = 1.4826
SLIP_SPREADS = 4.0
LEAST_UNSTEADY_S = 0.010
MOST_FOR_SLOPE = 400
FEWEST_FOR_DRIFT = 8
KNOWN_FROM_TAPS = (1, 4, 8, 16, 24)
KNOWN_TO_S = (0.080, 0.055, 0.047, 0.038, 0.032)


@dataclass(frozen=True, slots=True)
class Parts:
    """Offsets taken apart, in seconds; ``slope`` is seconds of offset for each second played."""

    habit_s: float
    slope: float
    unsteady_s: float
    slips: Ints


def parts_of(times_s: Floats, offsets_s: Floats) -> Parts:
    """Return habit, slope, unsteadiness and slips of offsets (n,) at ``times_s`` (n,), n > 0."""
    habit = float(np.median(offsets_s))
    slope = theil_sen(times_s, offsets_s)
    rest = offsets_s - slope * (times_s - np.median(times_s))
    rest = rest - np.median(rest)
    unsteady = ROBUST * float(np.median(np.abs(rest)))
    limit = SLIP_SPREADS * max(unsteady, LEAST_UNSTEADY_S)
    return Parts(habit, slope, unsteady, np.flatnonzero(np.abs(rest) > limit))


def theil_sen(times_s: Floats, offsets_s: Floats, groups: Floats | None = None) -> float:
    """Return the median slope between pairs of points, 0 for fewer than two.

    With ``groups`` only points of the same group make a pair.
    Above 400 points a regular selection of them stands for all, so that the work stays bounded.
    """
    if len(times_s) > MOST_FOR_SLOPE:
        chosen = np.linspace(0, len(times_s) - 1, MOST_FOR_SLOPE).astype(np.intp)
        times_s, offsets_s = times_s[chosen], offsets_s[chosen]
        groups = groups if groups is None else groups[chosen]
    first, second = np.triu_indices(len(times_s), 1)
    apart = times_s[second] - times_s[first]
    ok = apart > 0
    if groups is not None:
        ok &= groups[first] == groups[second]
    if not ok.any():
        return 0.0
    return float(np.median((offsets_s[second] - offsets_s[first])[ok] / apart[ok]))


def slope_error(times_s: Floats, spread_s: float, groups: Floats | None = None) -> float:
    """Return the standard error of the slope of points that scatter by ``spread_s``.

    With ``groups`` only points of the same group tell of it, as in ``theil_sen``.
    """
    same = np.zeros(len(times_s)) if groups is None else groups
    about = float(np.sum(without_means(times_s, same) ** 2))
    return spread_s / max(float(np.sqrt(about)), spread_s)


def without_means(values: Floats, groups: Floats) -> Floats:
    """Return ``values`` less the mean of each group."""
    inside = groups[None, :] == np.unique(groups)[:, None]
    return np.asarray(values - (inside @ values / inside.sum(axis=1)) @ inside)


def habit_known_to_s(taps: int, onset_uncertainty_s: float) -> float:
    """Return the half-width, in seconds, within which the habit of ``taps`` notes is known (95 %).

    ``onset_uncertainty_s`` is the standard error of the onset times, which all notes may share.
    """
    people = float(np.interp(taps, KNOWN_FROM_TAPS, KNOWN_TO_S))
    return float(np.hypot(people, 1.96 * onset_uncertainty_s))


def spread_of(offsets_s: Floats, onset_uncertainty_s: float) -> Spread | None:
    """Return the offsets (n,) together, or None where there are none."""
    if not len(offsets_s):
        return None
    median = float(np.median(offsets_s))
    known = habit_known_to_s(len(offsets_s), onset_uncertainty_s)
    sd = float(np.std(offsets_s, ddof=1)) if len(offsets_s) > 1 else 0.0
    return Spread(median, float(np.mean(offsets_s)), sd, median - known, median + known)


def beyond_s(late_s: float, habit_s: float) -> float:
    """Return how far beyond both the recording and the player's habit a note came, positive late.

    A floating tune can pass for a habit in a few places; what lies on the recording, or between the
    two, is right either way.
    """
    return late_s - min(max(late_s, min(habit_s, 0.0)), max(habit_s, 0.0))
