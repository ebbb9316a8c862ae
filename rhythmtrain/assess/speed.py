"""How fast a take was played, when nobody said: found within a factor of two.

Every speed from half to double, in steps of 3 %, is followed through the take (see ``following``)
and the one under which the take is worth most is kept; a player's own slow wandering is within
what following allows.  The speed is then read off the notes that were found, as the Theil-Sen
slope of heard against written time, and followed once more.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.following import follow
from rhythmtrain.assess.offsets import theil_sen
from rhythmtrain.assess.tries import attempts, fullest
from rhythmtrain.assess.written import Written

Floats = NDArray[np.float64]

SLOWEST, FASTEST, STEP = 0.5, 2.0, 1.03
MOST_CLAPS = 120
FEWEST_CLAPS = 4
LOOKS = 2
# What an octave away from the written speed costs: less than one note, only to break ties.
AWAY_COST = 0.4


def find_speed(played_s: Floats, written: Written) -> float:
    """Return played over written speed of the claps, between 0.5 and 2; 1 for fewer than 4."""
    first = max(0, (len(played_s) - MOST_CLAPS) // 2)
    heard = played_s[first : first + MOST_CLAPS]
    if len(played_s) < FEWEST_CLAPS:
        return 1.0
    steps = round(np.log(FASTEST) / np.log(STEP))
    grid = FASTEST ** (np.arange(-steps, steps + 1) / steps)
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
    piece = max(tries[fullest(tries)].pieces, key=lambda each: len(each.notes))
    slope = theil_sen(
        at_speed.times_s[piece.notes], played_s[piece.claps] - at_speed.times_s[piece.notes]
    )
    return speed / (1 + slope)
