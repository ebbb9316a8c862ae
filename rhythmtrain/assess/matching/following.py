"""Where in the passage the player was, clap by clap, through talk, stops and new beginnings.

With the speed known, all that is unknown at a clap is the *origin*: the second of the take at
which bar 1 would begin if the player went on from here.  While somebody plays through, it stays
where it is or creeps; when they go back, stop, or begin again, it jumps; while they talk there is
none.  So a take is a path through origins, and the best path is found by dynamic programming
(Viterbi 1967) over all origins on a 20 ms grid at once:

- a clap within the window of a note earns 1 - |d|/w, one beside every note costs a little;
- every note passed over costs a little;
- creeping one step costs a little, a jump costs several notes: least to the beginning of the
  passage, more to the beginning of a bar, most into the middle of a bar, and more still where
  the player would have jumped without drawing breath;
- talking costs next to nothing, but earns nothing.

What a jump means (a new try, a step back, a late entry) is decided afterwards, see ``tries``.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.matching.clap_worth import MISSED_COST, worth_of
from rhythmtrain.assess.matching.start import busiest_origins
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Worth = NDArray[np.float32]
Ints = NDArray[np.intp]

STEP_S = 0.020
TALK_COST = 0.10
CREEP_COST = 0.12
HURRIED_COST = 2.5
HURRIED_S = 0.7
HURRIED_BEATS = 1.2
JUMP_TO_GIVEN = 0.2
NEAR_GIVEN_S = 0.250
# An entry by a wrong cue comes no later (see ``wrong_cue``).
MOST_BARS_LATE = 4
MOST_CELLS = 40_000_000
MOST_CREEP = 12
JUMP = 127
TALKING = -1


@dataclass(frozen=True, slots=True)
class Stretch:
    """A row of claps with one creeping origin: claps ``first`` to ``last`` (both included).

    ``origins_s`` gives the origin at each of them, in seconds of the take.
    """

    first: int
    last: int
    origins_s: Floats


def follow(
    played_s: Floats, written: Written, *, start_s: float | None = None, one_go: bool = False
) -> tuple[tuple[Stretch, ...], float]:
    """Return the stretches in which the player played, and what the whole path is worth.

    ``start_s`` is where bar 1 begins, in seconds of the take, when that is known.  With ``one_go`` what
    kept time went on from there, so that what comes bars and bars late is no new beginning.
    """
    table = worth_of(written)
    origins = _origins(played_s, written)
    if one_go and start_s is not None:
        latest_s = start_s + MOST_BARS_LATE * float(written.bar_s.max())
        origins = origins[: max(int(np.searchsorted(origins, latest_s)), 1)]
    worth = np.full(len(origins), -np.inf, dtype=np.float32)
    talk = 0.0
    near = None if start_s is None else _near_given(origins, start_s)
    moves = np.empty((len(played_s), len(origins)), dtype=np.int8)
    came_from = np.empty(len(played_s), dtype=np.intp)
    talk_from = np.empty(len(played_s), dtype=np.intp)
    before = np.zeros(len(origins), dtype=np.float32)
    hurried = _hurried(played_s, written)
    reach = _reaches(played_s, written)
    for number, time in enumerate(played_s):
        cells = table.at(time - origins)
        passed = table.passed[cells]
        best = int(np.argmax(worth)) if np.isfinite(worth).any() else TALKING
        top = float(worth[best]) if best != TALKING else -np.inf
        jump = table.jump[cells]
        if near is not None:
            jump = np.minimum(near, jump) if number == 0 or best == TALKING else jump
        talk_from[number] = best if top > talk else TALKING
        came_from[number] = talk_from[number]
        gate = max(top, talk)
        stay = worth - MISSED_COST * (passed - before)
        choice, moves[number] = _best_move(
            stay, gate - jump - hurried[number], origins, reach[number]
        )
        worth = np.asarray(choice + table.worth[cells], dtype=np.float32)
        talk = gate - TALK_COST
        before = passed
    return _walked(worth, talk, moves, came_from, origins)


def _near_given(origins: Floats, start_s: float) -> Floats:
    """Return what beginning at each origin costs near the start that was given: less the nearer.

    Of even notes that are close together another one lies as near as the right one.
    """
    away = np.abs(origins - start_s) / NEAR_GIVEN_S
    return np.where(away <= 1, JUMP_TO_GIVEN * (1 + away), np.inf)


def _hurried(played_s: Floats, written: Written) -> Floats:
    """Return what a jump at each clap costs for want of a pause before it."""
    pause = max(HURRIED_S, HURRIED_BEATS * written.beat)
    gaps = np.diff(played_s, prepend=-np.inf)
    return np.where(gaps < pause, HURRIED_COST, 0.0)


def _reaches(played_s: Floats, written: Written) -> list[int]:
    """Return how many steps the origin may creep on the way to each clap: one for each beat."""
    beats = np.ceil(np.diff(played_s, prepend=played_s[0]) / written.beat)
    return [int(each) for each in np.clip(beats, 1, MOST_CREEP)]


def _origins(played_s: Floats, written: Written) -> Floats:
    """Return the origins worth asking about: all of them, or the busiest of a very long take."""
    low = played_s[0] - written.times_s[-1] - 4 * STEP_S
    high = played_s[-1] - written.times_s[0] + 4 * STEP_S
    most = MOST_CELLS // len(played_s)
    if (high - low) / STEP_S > most:
        return busiest_origins(played_s, written.times_s, STEP_S, most)
    return np.asarray(np.arange(low, high + STEP_S, STEP_S))


def _best_move(
    stay: Worth, jump: Worth, origins: Floats, reach: int
) -> tuple[Worth, NDArray[np.int8]]:
    """Return the best worth before a clap at every origin, and how it came: creeping, or JUMP.

    A move is the number of steps crept, at most ``reach`` either way.
    """
    choice = stay.copy()
    moves = np.zeros(len(stay), dtype=np.int8)
    for steps in range(1, min(reach, len(stay) - 1) + 1):
        touching = origins[steps:] - origins[:-steps] < (steps + 0.5) * STEP_S
        later = np.where(touching, stay[:-steps] - steps * CREEP_COST, -np.inf)
        earlier = np.where(touching, stay[steps:] - steps * CREEP_COST, -np.inf)
        for side, rival, span in ((1, later, slice(steps, None)), (-1, earlier, slice(-steps))):
            better = rival > choice[span]
            choice[span][better] = rival[better]
            moves[span][better] = side * steps
    leap = jump > choice
    choice[leap], moves[leap] = jump[leap], JUMP
    return choice, moves


def _walked(
    worth: NDArray[np.float32],
    talk: float,
    moves: NDArray[np.int8],
    came_from: Ints,
    origins: Floats,
) -> tuple[tuple[Stretch, ...], float]:
    """Return the stretches of the best path, walking back from the last clap."""
    state = int(np.argmax(worth))
    total = float(worth[state])
    if not total > talk:
        state, total = TALKING, talk
    found: list[Stretch] = []
    path: list[float] = []
    for number in range(len(came_from) - 1, -1, -1):
        if state == TALKING:
            state = int(came_from[number])
            continue
        path.append(float(origins[state]))
        move = moves[number, state]
        if move == JUMP:
            found.append(Stretch(number, number + len(path) - 1, np.array(path[::-1])))
            path = []
            state = int(came_from[number])
        else:
            state -= int(move)
    return tuple(reversed(found)), total
