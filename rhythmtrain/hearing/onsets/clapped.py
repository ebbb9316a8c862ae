"""Whether anybody clapped at all: a talker's consonants are alike too, but no claps.

Among words alone the sounds most like strokes are bursts of t and k.  They make a family as claps
do, so that what is like the usual one says nothing; what the usual one is like must be asked.  Two
things part the bursts from strokes.  They are less like strokes (``sorting.likeness``), all in all;
and there is always a louder vowel near, where at least some claps fall between the words and are
the loudest thing near themselves.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.strokes import Stroke

Array = NDArray[np.float64]

# Logistic regression on takes, moved by a third to where nothing said alone passes: the half "tune"
# of tests/simulate/aloud_takes.py and tests/simulate/talked_takes.py.
CONSTANT, PER_LIKE, PER_UNDER_DB = 1.8, 0.7, -0.68
# What so near the loudest stands alone was not said: of bursts a quarter lie 3.2 dB under it at best.
ALONE_DB, ALONE_PERCENTILE = 2.8, 25
UNLIKE, PLAINLY = -1.5, 2.5
FAINT_DB = -50.0


def clapped(like: Array, under_db: Array, loudest_db: float, *, alone: bool) -> bool:
    """Return whether a family of sounds, both arrays of shape (sounds,), was clapped.

    ``like`` says how like strokes they are, as logits; ``loudest_db`` how loud their loudest band
    usually is.  Where they are ``alone``, nobody talks: then only the faint are doubted, somebody who
    talks in the next room.
    """
    usual, under = float(np.median(like)), float(np.percentile(under_db, ALONE_PERCENTILE))
    if loudest_db < FAINT_DB and usual < PLAINLY:
        return False
    if alone:
        return True
    plainly = CONSTANT + PER_LIKE * usual + PER_UNDER_DB * under >= 0
    return usual >= UNLIKE and (plainly or under <= ALONE_DB)


def plainly_heard(strokes: Sequence[Stroke]) -> bool:
    """Return whether any of ``strokes`` is louder than what comes from the next room."""
    return any(float(each.gain_db.max()) >= FAINT_DB for each in strokes)
