"""The level of a recording, and the one place that refuses a recording nobody can hear anything in.

Levels are in dB below full scale (dBFS): 0 dB is a sample of magnitude 1.  A recording whose
samples are all equal, or all within -90 dBFS of their first sample, counts as silent: 16-bit
rounding alone is at about -96 dBFS.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rhythmtrain.errors import RequestError, TakeError

SILENT_DBFS = -90.0
FULL_SCALE = 0.999
SLOWEST_RATE = 8000

Mono = NDArray[np.float32]


@dataclass(frozen=True, slots=True)
class Level:
    """How loud a recording is: peak in dBFS, the share of samples at full scale, the mean."""

    peak_dbfs: float
    clipped_share: float
    offset: float


def measured_level(sound: Mono) -> Level:
    """Return the level of ``sound``, shape (n,), n > 0; the peak of pure zeros is -inf dBFS."""
    size = np.abs(sound)
    peak = float(size.max())
    peak_dbfs = 20 * float(np.log10(peak)) if peak > 0 else -np.inf
    return Level(peak_dbfs, float(np.mean(size >= FULL_SCALE)), float(np.mean(sound)))


def as_mono(sound: ArrayLike) -> Mono:
    """Return ``sound``, shape (n,) or (n, channels), as the mean of its channels in float32.

    Whole numbers are taken as PCM and scaled to full scale.

    Raises:
        TakeError: samples that are not finite, or a shape that is no sound.
    """
    samples = np.asarray(sound)
    if samples.ndim not in {1, 2} or samples.dtype.kind not in "fiu":
        raise TakeError(
            f"a recording must be real samples of shape (n,) or (n, channels), got {samples.dtype} "
            f"of shape {samples.shape}"
        )
    if samples.dtype.kind in "iu":
        samples = _scaled(samples)
    mono = samples.astype(np.float32) if samples.ndim == 1 else _mean(samples)
    if mono.size and not np.isfinite([mono.min(), mono.max()]).all():
        first = int(np.argmin(np.isfinite(mono)))
        raise TakeError(
            f"the recording is damaged: sample {first} is not a finite number; export it again"
        )
    return mono


def checked_rate(rate: float) -> int:
    """Return ``rate`` as a whole number of samples a second, at least 8000, else RequestError."""
    if not np.isfinite(rate) or rate != int(rate) or rate < SLOWEST_RATE:
        raise RequestError(
            f"the sample rate must be a whole number of at least {SLOWEST_RATE} a second, got {rate:g}"
        )
    return int(rate)


def check_audible(lowest: float, highest: float, count: int) -> None:
    """Raise TakeError if ``count`` samples between ``lowest`` and ``highest`` hold nothing to hear."""
    if count == 0:
        raise TakeError("the recording is empty: it has no samples; record it again")
    if lowest == highest:
        raise TakeError(
            "the recording is silent: all its samples are equal; check which microphone was used"
        )
    if 0.5 * (highest - lowest) < 10 ** (SILENT_DBFS / 20):
        raise TakeError(
            f"the recording is silent: all of it is below {SILENT_DBFS:g} dBFS; "
            "check the microphone and its level"
        )


def _scaled(samples: NDArray[np.integer]) -> NDArray[np.float64]:
    """Return whole-number PCM between -1 and 1; unsigned PCM has its zero in the middle."""
    info = np.iinfo(samples.dtype)
    middle = (int(info.max) + int(info.min) + 1) / 2
    return (samples.astype(np.float64) - middle) / ((int(info.max) - int(info.min) + 1) / 2)


def _mean(samples: NDArray[np.floating]) -> Mono:
    if samples.shape[1] == 0:
        raise TakeError("the recording has no channels; export it again with at least one")
    mono: Mono = samples.mean(axis=1, dtype=np.float64).astype(np.float32)
    return mono
