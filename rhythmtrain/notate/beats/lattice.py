"""Forward and backward over (time, interval), one step a beat.

The state of beat ``b`` is its frame ``t``, the interval ``d`` since the beat before it, in frames,
and how the recording is read there (``phases``: off-beats may be struck harder than beats).  From one
beat to the next the interval changes by a log-normal step, with a heavy tail for breaths and holds and
a pull to the mean tempo, the time moves on by the new interval, and rarely the reading changes:

    p(d' | d) = (1 - h) N(log d'; (1 - k) log d + k log m, s) + h N(…; w)

A beat at ``t``, ``d`` after the one before, is worth what the recording shows from the one to the
other and what the person's marks say of ``t``.  Since the steps
are counted, a beat has a number from the start: two marks fix how many beats lie between, and the
lattice tells how likely each of them lies where.  States below 1e-12 of the best are dropped.
(Rabiner 1989 for the method; the bar pointer of Whiteley, Cemgil & Godsill 2006 for the idea.)
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.beats.phases import READ_AT_FIRST, READ_ON

TAIL, TAIL_SD = 0.02, 0.45
PULL = 0.05
SHORTEST, LONGEST = 0.4, 2.5
FIRST_SD = 0.25
DROPPED = 1e-12

Floats = NDArray[np.float64]
States = NDArray[np.float32]
Window = tuple[int, int]


@dataclass(frozen=True, slots=True, eq=False)
class Lattice:
    """What the beats may do, in frames.

    ``worth``, shape (readings, frames, intervals), is the factor for a beat at a frame an interval
    after the one before; ``first_worth``, shape (readings, frames), the one for the first beat.  ``windows`` are the
    frames in which each beat is looked for, from and up to; ``marks`` the factor of a beat's mark
    over its window (None without one), ``mean`` the mean interval, ``step_sd`` how much the
    interval changes from beat to beat.
    """

    worth: States
    first_worth: Floats
    windows: tuple[Window, ...]
    marks: tuple[Floats | None, ...]
    mean: float
    step_sd: float


@dataclass(frozen=True, slots=True, eq=False)
class Posterior:
    """How likely a beat lies at each frame from ``start``; ``chance`` sums to 1."""

    start: int
    chance: Floats


@dataclass(frozen=True, slots=True, eq=False)
class _Layer:
    """States of one beat, shape (readings, frames from ``start``, intervals)."""

    start: int
    states: States


def posteriors(lattice: Lattice) -> tuple[tuple[Posterior, ...], float]:
    """Return the posterior of every beat, and the logarithm of the evidence for the whole."""
    intervals = intervals_of(lattice.mean)
    steps = _steps(intervals, lattice)
    layers, total = _forward(lattice, intervals, steps)
    found: list[Posterior] = []
    after = np.ones_like(layers[-1].states)
    for number in range(len(layers) - 1, -1, -1):
        here = layers[number]
        chance = (here.states * after).sum(axis=(0, 2)).astype(np.float64)
        found.append(Posterior(here.start, chance / chance.sum()))
        if number:
            after = _backward(lattice, layers, number, after, (intervals, steps))
    return tuple(reversed(found)), total


def log_evidence(lattice: Lattice) -> float:
    """Return the logarithm of the evidence for the whole, as ``posteriors`` does, in half the time."""
    intervals = intervals_of(lattice.mean)
    return _forward(lattice, intervals, _steps(intervals, lattice))[1]


def intervals_of(mean: float) -> NDArray[np.int64]:
    """Return the intervals in frames that a beat of ``mean`` frames may take."""
    return np.arange(max(2, int(SHORTEST * mean)), int(np.ceil(LONGEST * mean)) + 1)


def _steps(intervals: NDArray[np.int64], lattice: Lattice) -> States:
    """Return p(d' | d), shape (d, d'), each row summing to 1."""
    logs = np.log(intervals)
    goal = (1 - PULL) * logs + PULL * np.log(lattice.mean)
    away = logs[None, :] - goal[:, None]
    sd = lattice.step_sd
    near = (1 - TAIL) / sd * np.exp(-0.5 * (away / sd) ** 2)
    far = TAIL / TAIL_SD * np.exp(-0.5 * (away / TAIL_SD) ** 2)
    weights = (near + far) / intervals[None, :]
    steps: States = (weights / weights.sum(axis=1, keepdims=True)).astype(np.float32)
    return steps


def _value(lattice: Lattice, number: int) -> States:
    """Return what each frame of the beat's window is worth, for every interval."""
    start, stop = lattice.windows[number]
    mark = lattice.marks[number]
    worth = lattice.worth[:, start:stop] if number else lattice.first_worth[:, start:stop, None]
    if mark is None:
        return worth.astype(np.float32, copy=False)
    return (worth * mark[:, None]).astype(np.float32)


def _forward(
    lattice: Lattice, intervals: NDArray[np.int64], steps: States
) -> tuple[list[_Layer], float]:
    """Return the forward states of every beat, each brought to sum 1."""
    first = np.exp(-0.5 * (np.log(intervals / lattice.mean) / FIRST_SD) ** 2) / intervals
    read = READ_AT_FIRST[: len(lattice.worth), None, None]
    shares = first / first.sum() * read / read.sum()
    states = (_value(lattice, 0) * shares).astype(np.float32)
    layer, total = _kept(states, lattice.windows[0][0])
    layers = [layer]
    for number in range(1, len(lattice.windows)):
        start, stop = lattice.windows[number]
        moved = _read_on(layer.states @ steps, READ_ON)
        # Row t' takes, for interval d', the row t' - d' of the layer before.
        states = _slanted(moved, start - layer.start, stop - start, -intervals)
        states *= _value(lattice, number)
        layer, more = _kept(states, start)
        total += more
        layers.append(layer)
    return layers, total


def _backward(
    lattice: Lattice,
    layers: list[_Layer],
    number: int,
    after: States,
    grid: tuple[NDArray[np.int64], States],
) -> States:
    """Return what comes after each state of the layer before ``number``."""
    intervals, steps = grid
    here, before = layers[number], layers[number - 1]
    offset = here.start - lattice.windows[number][0]
    value = _value(lattice, number)[:, offset : offset + here.states.shape[1]]
    worth = after * value
    slanted = _slanted(worth, before.start - here.start, before.states.shape[1], intervals)
    back = _read_on(slanted @ steps.T, READ_ON.T)
    return back / max(float(back.max()), 1e-30)


def _read_on(states: States, chances: States) -> States:
    """Return ``states`` after the reading may have changed, by ``chances`` (from, to)."""
    if len(states) == 1:
        return states
    mixed: States = np.tensordot(chances.T, states, axes=1)
    return mixed


def _slanted(states: States, first: int, count: int, shifts: NDArray[np.int64]) -> States:
    """Return rows ``first`` and ``count - 1`` after it, each column moved by its own of ``shifts``.

    Shifts rise or fall by one from column to column.  What lies outside is 0.
    """
    low = first + int(shifts.min())
    height = count + shifts.size - 1
    padded = np.zeros((len(states), height, shifts.size), dtype=np.float32)
    begin, end = max(low, 0), min(low + height, states.shape[1])
    if end > begin:
        padded[:, begin - low : end - low] = states[:, begin:end]
    reading, row, column = padded.strides
    step = row if shifts[-1] > shifts[0] else -row
    top = padded[:, first + int(shifts[0]) - low :]
    view = np.lib.stride_tricks.as_strided(
        top, (len(states), count, shifts.size), (reading, row, column + step), writeable=False
    )
    slanted: States = view.copy()
    return slanted


def _kept(states: States, start: int) -> tuple[_Layer, float]:
    """Return the layer without rows that cannot matter, summing to 1, and the log of its sum."""
    rows = states.sum(axis=(0, 2)).astype(np.float64)
    total = float(rows.sum())
    if not total > 0:
        raise RequestError(
            "the marks leave no room for the beats between them: check the bar numbers and seconds"
        )
    alive = np.flatnonzero(rows > DROPPED * rows.max())
    first, last = int(alive[0]), int(alive[-1]) + 1
    return _Layer(start + first, states[:, first:last] / np.float32(total)), float(np.log(total))
