"""How fast a take was played, when nobody said: found within a factor of two.

Every speed from half to double, in steps of 3 %, is followed through the take (see ``following``)
and the one under which the take is worth most is kept; a player's own slow wandering is within
what following allows.  The speed is then read off the notes that were found, as the Theil-Sen
slope of heard against written time, and followed once more.

Whoever comes in a beat late after eight bars of rest seems, taken as a whole, to have played 4 %
slower than within each phrase.  So the slope within phrases is read off too; where it differs
plainly from the slope of the whole, by what whole beats at the rests explain, the speed is read
off once these beats are taken out.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.matching.following import follow
from rhythmtrain.assess.matching.pieces import Piece
from rhythmtrain.assess.matching.tries import Attempt, attempts, fullest
from rhythmtrain.assess.offsets import ROBUST, theil_sen
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

SLOWEST, FASTEST, STEP = 0.5, 2.0, 1.03
NEAR_STEPS = 3
MOST_CLAPS = 120
FEWEST_CLAPS = 4
LOOKS = 2
# What an octave away from the written speed costs: less than one note, only to break ties.
AWAY_COST = 0.4
LEAST_SPREAD_S = 0.015
SURE_ERRORS = 3.0
NEAR_BEATS = 0.25


def find_speed(played_s: Floats, written: Written, *, about: float | None = None) -> float:
    """Return played over written speed of the claps, between 0.5 and 2; 1 for fewer than 4.

    Where it is known to lie ``about`` somewhere, it is looked for within a tenth of that alone.
    """
    first = max(0, (len(played_s) - MOST_CLAPS) // 2)
    heard = played_s[first : first + MOST_CLAPS]
    if len(played_s) < FEWEST_CLAPS:
        return 1.0
    steps = round(np.log(FASTEST) / np.log(STEP))
    grid = FASTEST ** (np.arange(-steps, steps + 1) / steps)
    if about is not None:
        grid = about * STEP ** np.arange(-NEAR_STEPS, NEAR_STEPS + 1)
    worth = [
        follow(heard, written.faster(speed))[1] - AWAY_COST * abs(np.log2(speed)) for speed in grid
    ]
    speed = float(grid[int(np.argmax(worth))])
    for _ in range(LOOKS):
        speed = _read_off(played_s, written, speed)
    return float(np.clip(speed, SLOWEST, FASTEST))


def _read_off(played_s: Floats, written: Written, speed: float) -> float:
    """Return the speed at which the notes found at about ``speed`` were played."""
    at_speed = written.faster(speed)
    stretches, _ = follow(played_s, at_speed)
    tries = attempts(stretches, played_s, at_speed)
    if not tries:
        return speed
    return speed / (1 + _slope(tries[fullest(tries)], played_s, at_speed))


def _slope(attempt: Attempt, played_s: Floats, written: Written) -> float:
    """Return how many seconds later the claps of a try fall for each second that is written."""
    piece = max(attempt.pieces, key=lambda each: len(each.notes))
    whole = _slope_of(piece.notes, played_s[piece.claps], written)
    onward = _onward(attempt.pieces)
    notes = np.concatenate([each.notes for each in onward])
    claps_s = np.concatenate([played_s[each.claps] for each in onward])
    phrase = np.unique(written.phrase[notes], return_inverse=True)[1]
    within = _slope_of(notes, claps_s, written, phrase)
    counted = _counted_beats(within, notes, claps_s, written)
    if counted is None:
        return whole
    leapt = len(onward) > 1
    if not leapt and abs(whole - within) <= SURE_ERRORS * _unsure(notes, claps_s, written, within):
        return whole
    return _slope_of(notes, claps_s - written.beat * counted[phrase], written)


def _onward(pieces: tuple[Piece, ...]) -> list[Piece]:
    """Return the pieces that each go on later in the passage than those before them."""
    kept: list[Piece] = []
    for piece in pieces:
        if not kept or piece.first_note > kept[-1].last_note:
            kept.append(piece)
    return kept


def _slope_of(notes: Ints, claps_s: Floats, written: Written, phrase: Ints | None = None) -> float:
    times = written.times_s[notes]
    groups = None if phrase is None else phrase.astype(np.float64)
    return theil_sen(times, claps_s - times, groups)


def _counted_beats(slope: float, notes: Ints, claps_s: Floats, written: Written) -> Floats | None:
    """Return by how many whole beats each phrase comes late, None where they are not whole."""
    times, phrase = written.times_s[notes], written.phrase[notes]
    late = claps_s - (1 + slope) * times
    middles = np.array([np.median(late[phrase == each]) for each in np.unique(phrase)])
    beats = (middles - middles[0]) / written.beat
    counted = np.rint(beats)
    near = (np.abs(np.diff(beats - counted)) < NEAR_BEATS).all()
    return counted if near and counted.any() else None


def _unsure(notes: Ints, claps_s: Floats, written: Written, slope: float) -> float:
    """Return the standard error of the slope within phrases."""
    times, phrase = written.times_s[notes], written.phrase[notes]
    left = _without_phrases(claps_s - (1 + slope) * times, phrase)
    about = _without_phrases(times, phrase)
    spread = max(ROBUST * float(np.median(np.abs(left))), LEAST_SPREAD_S)
    return spread / max(float(np.sqrt(np.sum(about**2))), spread)


def _without_phrases(values: Floats, phrase: Ints) -> Floats:
    """Return ``values`` less the mean of each phrase."""
    inside = phrase[None, :] == np.unique(phrase)[:, None]
    means = (inside @ values) / inside.sum(axis=1)
    return np.asarray(values - means @ inside)
