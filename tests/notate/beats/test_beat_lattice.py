"""Forward and backward over time and interval, against the sum over every path."""

from itertools import product

import numpy as np
import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.beats import lattice as beat_lattice
from rhythmtrain.notate.beats.lattice import Lattice, intervals_of, posteriors
from rhythmtrain.notate.beats.phases import READ_AT_FIRST, READ_ON, phase_worth

MEAN = 5.0
FRAMES = 22


def _lattice(seed: int, readings: int = 2, **changed: object) -> Lattice:
    rng = np.random.default_rng(seed)
    intervals = intervals_of(MEAN)
    made = {
        "worth": rng.random((readings, FRAMES, intervals.size)).astype(np.float32) + 0.1,
        "first_worth": rng.random((readings, FRAMES)) + 0.1,
        "windows": ((0, 6), (2, 14), (6, FRAMES)),
        "marks": (rng.random(6) + 0.01, None, rng.random(FRAMES - 6) + 0.01),
        "mean": MEAN,
        "step_sd": 0.2,
    }
    return Lattice(**(made | changed))  # type: ignore[arg-type]


def _by_hand(lattice: Lattice) -> tuple[list[np.ndarray], float]:
    """Return the posteriors by adding up every path of three beats."""
    intervals = intervals_of(lattice.mean)
    logs = np.log(intervals)
    goal = (1 - beat_lattice.PULL) * logs + beat_lattice.PULL * np.log(lattice.mean)
    away = logs[None, :] - goal[:, None]
    steps = sum(
        share / sd * np.exp(-0.5 * (away / sd) ** 2)
        for share, sd in (
            (1 - beat_lattice.TAIL, lattice.step_sd),
            (beat_lattice.TAIL, beat_lattice.TAIL_SD),
        )
    )
    steps = steps / intervals
    steps /= steps.sum(axis=1, keepdims=True)
    first = np.exp(-0.5 * (np.log(intervals / lattice.mean) / beat_lattice.FIRST_SD) ** 2)
    first = first / intervals / (first / intervals).sum()
    chances = [np.zeros(FRAMES) for _ in range(3)]
    total = 0.0
    mark0, _, mark2 = lattice.marks
    assert mark0 is not None
    assert mark2 is not None
    (a, b), (c, d), (e, f) = lattice.windows
    each = range(intervals.size)
    ways = _ways(len(lattice.worth))
    for start, before, one, two in product(range(a, b), each, each, each):
        middle = start + int(intervals[one])
        last = middle + int(intervals[two])
        if not (c <= middle < d and e <= last < f):
            continue
        read = sum(
            share * lattice.first_worth[p, start] * lattice.worth[q, middle, one]
            * lattice.worth[r, last, two]
            for (p, q, r), share in ways.items()
        )  # fmt: skip
        moved = first[before] * steps[before, one] * steps[one, two]
        chance = read * moved * mark0[start - a] * mark2[last - e]
        total += chance
        for where, place in zip(chances, (start, middle, last), strict=True):
            where[place] += chance
    return [chance / total for chance in chances], float(np.log(total))


def _ways(readings: int) -> dict[tuple[int, int, int], float]:
    """Return how likely three beats are read in each of all ways."""
    if readings == 1:
        return {(0, 0, 0): 1.0}
    return {
        (p, q, r): float(READ_AT_FIRST[p] * READ_ON[p, q] * READ_ON[q, r])
        for p, q, r in product((0, 1), repeat=3)
    }


@pytest.mark.parametrize(("seed", "readings"), [(0, 1), (1, 1), (2, 2), (3, 2), (4, 2)])
def test_posteriors_are_the_sums_over_all_paths(seed: int, readings: int) -> None:
    """The recursion is exact, and its evidence is the sum of everything."""
    lattice = _lattice(seed, readings)
    found, total = posteriors(lattice)
    expected, log_total = _by_hand(lattice)
    assert total == pytest.approx(log_total, abs=1e-4)
    for posterior, chance in zip(found, expected, strict=True):
        whole = np.zeros(FRAMES)
        whole[posterior.start : posterior.start + posterior.chance.size] = posterior.chance
        np.testing.assert_allclose(whole, chance, atol=1e-5)


def test_windows_with_no_way_between_them_are_refused() -> None:
    """Two marks that no tempo joins are the person's to mend."""
    with pytest.raises(RequestError, match="leave no room for the beats between them"):
        posteriors(_lattice(0, windows=((0, 3), (16, 22), (16, 22)), marks=(None, None, None)))


def test_a_beat_is_worth_all_of_its_twelfths() -> None:
    """A note on the half speaks for a beat twice as far back as it, not for one right there."""
    phases = np.zeros((7, 100))
    phases[0, 60], phases[6, 50] = 2.0, 3.0
    intervals = np.array([10, 20, 30])
    worth, first = phase_worth(phases, intervals, 1, believed=0.5)
    assert np.log(worth[0, 60]) == pytest.approx([1.0, 2.5, 1.0])
    assert np.log(first[0, 60]) == pytest.approx(1.0)
    assert np.log(worth[0, 10]) == pytest.approx([0, 0, 0])


def test_read_over_the_half_of_a_beat_looks_like_a_beat() -> None:
    """Else a hand that strikes every off-beat turns beats and halves round."""
    phases = np.zeros((7, 100))
    phases[0, 50], phases[6, 60] = 2.0, 3.0
    intervals = np.array([10, 20, 30])
    worth, first = phase_worth(phases, intervals, 1, believed=0.5)
    assert np.log(worth[1, 60]) == pytest.approx([1.5, 2.5, 1.5])
    assert np.log(first[1, 60]) == pytest.approx(1.5)
    one, _ = phase_worth(phases, intervals, 1, believed=0.5, readings=1)
    np.testing.assert_array_equal(one, worth[:1])
