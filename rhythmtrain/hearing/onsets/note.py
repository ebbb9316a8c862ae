"""Whether a rise in the bands is a new note of an instrument that holds its notes.

Held notes run into each other, so that a new one rises little beside an entry out of silence, and
vibrato, swells, breath and keys rise as well.  Four things tell them apart.

1. *Likeness.*  What sounds after another note is made of other harmonics than what sounded before:
   the cosine between the two spectra, by amplitude in the bands.
2. *Dip.*  A note that is tongued again on the same pitch sounds alike, but there is a dip between.
   A dip counts the more, the more alike the two are.
3. *Tone.*  It repeats itself within a tenth of a second (see ``tone``): a breath does not, and the
   note that follows it comes too late for that.
4. *Rise.*  By how much the bands rise over the usual.

Their sum is a logit, fitted by logistic regression on the halves "tune" of
tests/simulate/note_lines.py and aloud_takes.py (``python -m tests.simulate.note_fit`` prints it);
what it reaches on the other halves is told by ``python -m tests.simulate.note_table``.
"""

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.bands import HOP_S, Bands, band_energies
from rhythmtrain.hearing.onsets.level import Mono
from rhythmtrain.hearing.onsets.tone import tone_share

BEFORE, DIP, AFTER = (-16, -5), (-12, 3), (6, 21)
BACK_S = 0.11
SOON_S, TONE_ENOUGH = 0.1, 0.7
DEEPEST_DB = 10.0
LEAST_RISE_DB = 0.05
TINY = 1e-12
WEIGHTS = (-20.9, -8.42, 0.658, 40.2, 2.37)

Array = NDArray[np.float64]


def note_logit(columns: Array) -> float:
    """Return how likely what ``note_columns`` told is a note, as a logit: over 0 it is one."""
    return float(columns @ WEIGHTS[1:]) + WEIGHTS[0]


def note_columns(sound: Mono, place: int, rise_db: float, bands: Bands) -> Array:
    """Return likeness, dip, tone and rise, shape (4,), of what starts at sample ``place``.

    ``rise_db`` is the flux there over the usual.  ``sound`` should reach from ``BACK_S`` before to 0.13 s after;
    where it does not, what it begins and ends with is taken to sound on.
    """
    frames = place + np.arange(BEFORE[0], AFTER[1]) * round(HOP_S * bands.rate)
    inside = np.clip(frames, bands.reach, max(bands.reach, len(sound) - bands.reach))
    energies = band_energies(sound, inside, bands).astype(np.float64)
    before, dip, after = (
        energies[low - BEFORE[0] : high - BEFORE[0]] for low, high in (BEFORE, DIP, AFTER)
    )
    one, other = np.sqrt(before.mean(axis=0)), np.sqrt(after.mean(axis=0))
    alike = float(one @ other) / (float(np.linalg.norm(one) * np.linalg.norm(other)) + TINY)
    softer = min(part.sum(axis=1).mean() for part in (before, after))
    dip_db = 10 * np.log10((softer + TINY) / (dip.sum(axis=1).min() + TINY))
    tone = tone_share(sound, place, bands.rate, within_s=SOON_S)
    return np.array(
        [
            alike,
            alike * np.clip(dip_db, 0, DEEPEST_DB),
            min(tone, TONE_ENOUGH),
            np.log(max(rise_db, LEAST_RISE_DB)),
        ]
    )
