"""Whether anybody clapped at all: a talker's consonants are alike too, but no claps.

Among words alone the sounds most like strokes are bursts of t and k.  They make a family as claps
do, so that what is like the usual one says nothing; what the usual one is like must be asked.  Three
things part the bursts from strokes.  They are less like strokes (``sorting.likeness``), all in all.
There is always a louder vowel near, where at least some claps fall between the words and are the
loudest thing near themselves.  And bursts come out of words, so that they hardly rise.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rhythmtrain.hearing.onsets.sounds_apart import Array, Sounds
from rhythmtrain.hearing.onsets.strokes import Stroke

# Logistic regression on takes, moved by a third to where nothing said alone passes: the half "tune"
# of tests/simulate/aloud_takes.py and tests/simulate/talked_takes.py.
CONSTANT, PER_LIKE, PER_UNDER_DB = 1.8, 0.7, -0.68
# What so near the loudest stands alone was not said: of bursts a quarter lie 3.2 dB under it at best.
ALONE_DB = 2.8
QUARTER = 25
UNLIKE, PLAINLY = -1.5, 2.5
FAINT_DB = -50.0
# Of 100 takes of talk or of counting and stamping, of both halves, no family that is at most 5 dB under
# rises by more than 10.6 dB in three quarters of its sounds; claps that are no clearer rise by 12 to 25.
RISE_DB = 11.0


@dataclass(frozen=True, slots=True, eq=False)
class Family:
    """Sounds of a kind, of which it is asked whether they were clapped.

    Attributes:
        like: How like strokes they usually are, a logit.
        under_db: How far under the loudest thing near them the clearest quarter lies.
        rise_db: By how much three quarters of them rise, in the bands in which they are loud.
        loudest_db: How loud their loudest band usually is.
    """

    like: float
    under_db: float
    rise_db: float
    loudest_db: float


def family_of(sounds: Sounds, usual: Array, like: Array) -> Family:
    """Return the family of ``sounds``, at least one, whose ``usual`` level has shape (bands,).

    ``like``, of shape (sounds,), says how like strokes they are, as a logit.
    """
    loud = 10 ** ((usual - usual.max()) / 20)
    return Family(
        like=float(np.median(like)),
        under_db=float(np.percentile(sounds.under_db, QUARTER)),
        rise_db=float(np.percentile(sounds.rise_db @ loud, QUARTER) / loud.sum()),
        loudest_db=float(usual.max()),
    )


def clapped(family: Family, *, alone: bool) -> bool:
    """Return whether ``family`` was clapped.

    Where it is ``alone``, nobody talks: then only the faint is doubted, somebody who talks in the
    next room.
    """
    if family.loudest_db < FAINT_DB and family.like < PLAINLY:
        return False
    if alone:
        return True
    if family.like < UNLIKE:
        return False
    if family.under_db <= ALONE_DB:
        return True
    plainly = CONSTANT + PER_LIKE * family.like + PER_UNDER_DB * family.under_db >= 0
    return plainly and family.rise_db >= RISE_DB


def plainly_heard(strokes: Sequence[Stroke]) -> bool:
    """Return whether any of ``strokes`` is louder than what comes from the next room."""
    return any(float(each.gain_db.max()) >= FAINT_DB for each in strokes)
