"""What a whole beat is worth: its first moment and the eleven twelfths after it.

A beat is more than its first moment: where the halves, thirds and quarters of it fall, notes are
likelier than elsewhere.  So for a beat that ends an interval ``d`` at frame ``t`` the odds of all
twelfths are added up,

    log worth(t, d) = b · (L0(t) + Σ Lk(t - d + k d / 12)),   k = 1 … 11,

where ``L`` are the phase curves of the recording.  Neighbouring frames are not independent, so
only the share ``b`` of the sum is believed.
"""

import numpy as np
from numpy.typing import NDArray

PARTS = 12
LARGEST_LOG = 30.0

Floats = NDArray[np.float64]
States = NDArray[np.float32]


def phase_worth(
    phases: Floats, intervals: NDArray[np.int64], hop: int, *, believed: float
) -> tuple[States, Floats]:
    """Return the worth of (frame, interval), and that of a frame for the first beat.

    ``phases``, shape (7, n), are the curves by distance from the nearer beat in twelfths;
    ``intervals`` count frames of ``hop`` frames of the curves.
    """
    curves = (believed * phases).astype(np.float32)
    last = curves.shape[1] - 1
    frames = np.arange(0, last + 1, hop)
    alone = _best_of(curves[0], hop)
    total = np.repeat(alone[:, None], intervals.size, axis=1)
    for part in range(1, PARTS):
        curve = curves[min(part, PARTS - part)]
        back = np.rint(intervals * hop * (1 - part / PARTS)).astype(np.int64)
        places = frames[:, None] - back[None, :]
        total += np.where(places >= 0, curve[np.clip(places, 0, last)], np.float32(0))
    worth: States = np.exp(np.clip(total, -LARGEST_LOG, LARGEST_LOG))
    return worth, np.exp(alone.astype(np.float64))


def _best_of(curve: States, hop: int) -> States:
    """Return the best of every ``hop`` frames."""
    padded = np.pad(curve, (0, (-curve.size) % hop), constant_values=curve.min())
    best: States = padded.reshape(-1, hop).max(axis=1)
    return best
