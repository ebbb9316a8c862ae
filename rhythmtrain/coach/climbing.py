"""The way up the ladder: which tempo comes next, in one of three orders.

*Gradual*: the next tempo above what is passed, until the written one is.  *Alternating*: slow and
at the written tempo in turn.  *Mix*: gradual, with every third attempt at the written tempo.  In
Henley's comparison (2001) full tempo alone was the least exact and a gradual rise not the best; no
order has been shown to be best, so it is the player's choice.

An attempt that was in vain so often as ``Settings.patience`` is not made again that day: the
session then ends with what stands.
"""

from dataclasses import dataclass
from datetime import date
from itertools import takewhile

from rhythmtrain.coach.evidence import Practised, Runs
from rhythmtrain.coach.passing import same
from rhythmtrain.coach.settings import USUAL, Order, Settings
from rhythmtrain.coach.skill import state_of
from rhythmtrain.coach.task import Over, Reason
from rhythmtrain.units import Bpm

TURNS = {Order.ALTERNATING: 2, Order.MIX: 3}


@dataclass(frozen=True, slots=True)
class Climb:
    """Where a player stands on the ladder.

    ``tempo`` is the written one, ``slow`` that of the learning, ``runs`` all that counts, and
    ``attempts`` those of today on the ladder: (tempo, good), in order.
    """

    tempo: float
    slow: Bpm
    runs: tuple[Runs, ...]
    attempts: tuple[tuple[float, bool], ...]
    day: date

    def vain(self, tempo: float) -> int:
        """Return how many attempts at ``tempo`` went wrong today since a good one."""
        at_it = [good for at, good in self.attempts if same(at, tempo)]
        return sum(1 for _ in takewhile(lambda good: not good, reversed(at_it)))


def next_climb(climb: Climb, settings: Settings = USUAL) -> tuple[Bpm, Reason] | Over:
    """Return the next tempo and why, or why there is none."""
    state = state_of(Practised("", "", climb.tempo, climb.runs), climb.day, settings)
    if state.at_tempo:
        return Over.DONE
    full = Bpm(float(climb.tempo))
    turns = TURNS.get(settings.order)
    if turns and climb.vain(full) < settings.patience:
        turn = len(climb.attempts) % turns
        if turn == turns - 1:
            return full, Reason.FULL
        if settings.order is Order.ALTERNATING:
            return climb.slow, Reason.SLOW_TURN
    up = state.next_tempo if state.reached is not None else climb.slow
    if climb.vain(up) >= settings.patience:
        return state.reached or climb.slow, Reason.END_WELL
    if climb.attempts and same(climb.attempts[-1][0], up):
        return up, Reason.AGAIN
    return up, Reason.FASTER
