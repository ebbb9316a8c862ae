"""Home takes: talk, false starts, a stumble and a step back, several tries in one file."""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from rhythmtrain.assess.written import Written
from tests.simulate.players import Claps, Random, careless, clapped, honest, joined, talk


@dataclass(frozen=True, slots=True)
class Session:
    """A simulated take with what a listener would say of it.

    ``tries`` gives (first note, last note) of each; ``backs`` the (note stopped after, note begun
    again at) of steps back in the last try; ``lost`` the (first, past-last) notes of a stretch in
    which the player was out.
    """

    claps: Claps
    tries: tuple[tuple[int, int], ...]
    backs: tuple[tuple[int, int], ...] = ()
    lost: tuple[int, int] | None = None


def session(kind: str, rng: Random, written: Written) -> Session:
    """Return one simulated take of ``kind``."""
    return MAKERS[kind](rng, written)


def _plain(rng: Random, written: Written) -> Session:
    last = len(written.times_s) - 1
    return Session(_run(rng, written, 0, last, 2.0), ((0, last),))


def _talk_first(rng: Random, written: Written) -> Session:
    last = len(written.times_s) - 1
    speech = talk(rng, 0.3, float(rng.uniform(2, 6)))
    run = _run(rng, written, 0, last, _after(rng, speech))
    return Session(joined(speech, run), ((0, last),))


def _false_start(rng: Random, written: Written) -> Session:
    last = len(written.times_s) - 1
    stop = int(rng.integers(4, max(last // 3, 6)))
    false = _run(rng, written, 0, stop, 1.0)
    run = _run(rng, written, 0, last, _after(rng, false))
    return Session(joined(false, run), ((0, stop), (0, last)))


def _step_back(rng: Random, written: Written) -> Session:
    claps, back = _with_step_back(rng, written, 1.0)
    return Session(claps, ((0, len(written.times_s) - 1),), (back,))


def _three(rng: Random, written: Written) -> Session:
    last = len(written.times_s) - 1
    first = _run(rng, written, 0, last, 1.0)
    speech = talk(rng, _after(rng, first), 2.0)
    second = _run(rng, written, 0, last, _after(rng, speech))
    third = _run(rng, written, 0, last, _after(rng, second))
    return Session(joined(first, speech, second, third), ((0, last),) * 3)


def _all(rng: Random, written: Written) -> Session:
    last = len(written.times_s) - 1
    speech = talk(rng, 0.2, 3.0)
    stop = int(rng.integers(4, max(last // 3, 6)))
    false = _run(rng, written, 0, stop, _after(rng, speech))
    claps, back = _with_step_back(rng, written, _after(rng, false))
    return Session(joined(speech, false, claps), ((0, stop), (0, last)), (back,))


def _lost(rng: Random, written: Written) -> Session:
    """Return a run in which two or three bars in the middle are not played."""
    last = len(written.times_s) - 1
    places = np.unique(written.place)
    first = int(rng.integers(len(places) // 3, len(places) // 2))
    out = places[first : first + int(rng.integers(2, 4))]
    gone = np.isin(written.place, out)
    run = _run(rng, written, 0, last, 1.0, slips=False)
    claps = clapped(run.times_s[~gone], run.meant[~gone])
    notes = np.flatnonzero(gone)
    return Session(claps, ((0, last),), (), (int(notes[0]), int(notes[-1]) + 1))


def _with_step_back(rng: Random, written: Written, at_s: float) -> tuple[Claps, tuple[int, int]]:
    """Return a run that stops in the middle and goes on from up to two bars before."""
    last = len(written.times_s) - 1
    openings = np.flatnonzero(written.opens)
    middle = [int(note) for note in openings if last / 4 < note < 3 * last / 4]
    again = int(rng.choice(middle))
    stop = min(last - 2, again + int(rng.integers(3, 12)))
    before = _run(rng, written, 0, stop, at_s)
    after = _run(rng, written, again, last, _after(rng, before, shortest_s=0.7))
    return joined(before, after), (stop, again)


def _run(
    rng: Random, written: Written, first: int, last: int, at_s: float, *, slips: bool = True
) -> Claps:
    """Return notes ``first`` to ``last`` played from ``at_s`` on, with a few claps amiss."""
    times = written.times_s[first : last + 1]
    played = honest(rng, times - times[0] + at_s, written.beat)
    claps = clapped(played, np.arange(first, last + 1))
    return careless(rng, claps, missed=0.04, extra=0.03) if slips else claps


def _after(rng: Random, claps: Claps, *, shortest_s: float = 1.2) -> float:
    return float(claps.times_s[-1]) + float(rng.uniform(shortest_s, 3.5))


MAKERS: dict[str, Callable[[Random, Written], Session]] = {
    "plain": _plain,
    "talk first": _talk_first,
    "false start": _false_start,
    "step back": _step_back,
    "three tries": _three,
    "all of it": _all,
    "lost": _lost,
}
