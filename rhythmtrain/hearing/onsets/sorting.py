"""Which of the sounds in a take are the player's own strokes: not the counting voice, not a foot.

Nobody's claps sound like another's, but one player's are alike.  So two questions follow each other.

1. *Is it like a stroke?*  Steep in all free bands, soon gone: that holds for any player
   (``LIKENESS``).  Taken alone it confuses a clap with the burst of a t, or with a foot.
2. *Is it like this player's strokes?*  Of the sounds that are most like strokes, the one that has
   most of its kind around it is the usual stroke, a level in each band.  A sound belongs to the
   player where the bands that are free show about these levels, rising and falling as strokes do
   (``FAMILIARITY``).  The burst of a t is alike in shape, but 15 to 30 dB softer above 4 kHz; a foot
   has the shape below and nothing above.

Both sums are logits, fitted by logistic regression on the half "tune" of
tests/simulate/aloud_takes.py (``python -m tests.simulate.aloud_fit`` prints them); what they reach
on the other half is told by ``python -m tests.simulate.aloud_table``.

Where hardly anything is plainly foreign, and not too much is doubtful, nobody counts aloud, and all
that is not foreign stays.
Among other sounds a stroke must reach a share of the player's middle one, and it is asked whether
the usual stroke was clapped at all (``clapped``).
"""

from collections.abc import Sequence

import numpy as np

from rhythmtrain.hearing.onsets.clapped import clapped, family_of
from rhythmtrain.hearing.onsets.sounds_apart import Array, Sounds, stacked, summed
from rhythmtrain.hearing.onsets.strokes import UPPER, Stroke

LIKENESS = (-3.04, 0.178, -0.0491, 0.145, 0.104, 0.0178, 0.0517, -0.0568)
FAMILIARITY = (5.86, -0.368, -0.178, -0.65, -0.905, 0.0191, 0.0976, 0.594, 0.0605, 0.444)
SHARE = 0.25
FOREIGN, FEW, MIXED = -3.0, 0.05, 0.3
FAR_DB, ALIKE_DB = 20.0, 5.0
SOFTEST_DB, SOFTER_DB = 40.0, 30.0
ENOUGH_RISE_DB, ENOUGH_FALL_DB, ENOUGH_LATER_DB = 18.0, 8.0, 15.0
SURE = 6.0
COVERED_DB = 3.0
MOST_COMPARED = 400
TOGETHER_S = 0.045


def sorted_out(strokes: Sequence[Stroke], times_s: Sequence[float]) -> list[int]:
    """Return which of ``strokes``, at ``times_s``, are the player's, in the order of time.

    Of those within 45 ms of each other only the likeliest remains.
    """
    if not strokes:
        return []
    sounds = stacked(strokes)
    like = likeness_logit(sounds)
    usual = usual_stroke(sounds, like)
    columns = familiarity(sounds, like, usual)
    score = columns @ FAMILIARITY[1:] + FAMILIARITY[0]
    if not (score > 0).any():
        return []
    times = np.asarray(times_s)
    apart = _apart(score, times)
    alone = bool(np.mean(score[apart] < FOREIGN) < FEW and np.mean(score[apart] < 0) < MIXED)
    own = [index for index in apart if score[index] > 0]
    if not clapped(family_of(sounds.only(own), usual, like[own]), alone=alone):
        return []
    least = FOREIGN if alone else SHARE * float(np.median(score[score > 0]))
    return sorted((index for index in apart if score[index] >= least), key=times.__getitem__)


def _apart(score: Array, times: Array) -> list[int]:
    """Return the best of those that lie together, the best first."""
    order = np.argsort(times, kind="stable")
    low = np.searchsorted(times[order], times - TOGETHER_S)
    high = np.searchsorted(times[order], times + TOGETHER_S, side="right")
    free = np.ones(len(times), np.bool_)
    kept: list[int] = []
    for index in np.argsort(-score, kind="stable").tolist():
        if free[index]:
            kept.append(index)
            free[order[low[index] : high[index]]] = False
    return kept


def likeness(sounds: Sounds) -> Array:
    """Return what tells any stroke from other sounds, shape (strokes, 7).

    Steepness above and below 1 kHz, then falls, soon and later, above and below, weighted by the
    bands that rise at all; then how much more was added above than below, in dB.
    """
    rise = sounds.rise_db
    free = np.clip(rise - 1, 0, 3) / 3 + 1e-3
    above = np.arange(rise.shape[1]) >= UPPER
    tilt = sounds.upper_db - summed(sounds.gain_db[:, :UPPER])
    falls = [
        _mean(fall, free * part)
        for part in (above, ~above)
        for fall in (sounds.fall_db, sounds.later_db)
    ]
    return np.column_stack(
        [rise[:, above].mean(axis=1), rise[:, ~above].mean(axis=1), *falls, np.clip(tilt, -25, 25)]
    )


def likeness_logit(sounds: Sounds) -> Array:
    """Return how likely each sound is any player's stroke, as a logit."""
    logit: Array = likeness(sounds) @ LIKENESS[1:] + LIKENESS[0]
    return logit


def usual_stroke(sounds: Sounds, like: Array) -> Array:
    """Return the usual level of the player's strokes in each band, in dB, shape (bands,).

    Sounds that are surely like strokes count most, and of these the loud ones: a voice may be
    louder than the claps, so loudness counts less than likeness.
    """
    chance = 1 / (1 + np.exp(-like))
    upper = sounds.upper_db
    sure = upper[chance >= np.sort(chance)[-max(1, len(chance) // 4)]]
    level = np.clip(upper - np.percentile(sure, 90), -SOFTEST_DB, 0)
    weight = chance**2 * 10 ** (level / SOFTER_DB)
    top = np.argsort(-weight, kind="stable")[:MOST_COMPARED]
    crowd = [weight[top] @ _alike(sounds.gain_db[top], sounds.gain_db[each]) for each in top]
    centre = sounds.gain_db[top[int(np.argmax(crowd))]]
    weight = weight * _alike(sounds.gain_db, centre)
    return np.array([_middle(band, weight) for band in sounds.gain_db.T])


def familiarity(sounds: Sounds, like: Array, usual: Array) -> Array:
    """Return how near each sound is to the ``usual`` stroke, shape (strokes, 9).

    Steepness above and below 1 kHz; then over the free bands how far it stays below and goes above
    the usual level, its falls, soon and later, its rise; then how loud it is above 1 kHz, and
    last how ``like`` a stroke it is.  Rises and falls count up to where they are plain: a vowel that
    breaks into silence rises further than a clap among words.
    """
    rise = np.minimum(sounds.rise_db, ENOUGH_RISE_DB)
    fall = np.minimum(sounds.fall_db, ENOUGH_FALL_DB)
    later = np.minimum(sounds.later_db, ENOUGH_LATER_DB)
    free = 1 / (1 + 10 ** ((sounds.before_db - usual + COVERED_DB) / 10)) + 1e-2
    off = np.clip(sounds.gain_db - usual, -25, 25)
    loud = np.clip(sounds.upper_db - summed(usual[None, UPPER:]), -25, 5)
    seen = (np.maximum(-off, 0), np.maximum(off, 0), fall, later, rise)
    return np.column_stack(
        [
            rise[:, UPPER:].mean(axis=1),
            rise[:, :UPPER].mean(axis=1),
            *(_mean(each, free) for each in seen),
            loud,
            np.clip(like, -SURE, SURE),
        ]
    )


def _alike(gains: Array, centre: Array) -> Array:
    """Return 1 for a sound like ``centre``, falling with the mean distance over the bands."""
    away = np.clip(np.abs(gains - centre), 0, FAR_DB).mean(axis=1)
    alike: Array = np.exp(-((away / ALIKE_DB) ** 2))
    return alike


def _mean(values: Array, weights: Array) -> Array:
    mean: Array = (values * weights).sum(axis=1) / weights.sum(axis=1)
    return mean


def _middle(values: Array, weights: Array) -> float:
    """Return the weighted median."""
    order = np.argsort(values)
    total = np.cumsum(weights[order])
    return float(values[order[np.searchsorted(total, total[-1] / 2)]])
