"""librosa's superflux as the detector to compare with, its constant offset taken out."""

from collections.abc import Sequence

import librosa
import numpy as np
from numpy.typing import NDArray

from tests.simulate.onset_score import Score, scored
from tests.simulate.sounds import Scene


def superflux(sound: NDArray[np.floating], rate: int) -> NDArray[np.float64]:
    """Return librosa's superflux onsets in seconds, with the settings of its own example."""
    hop = round(rate / 200)
    strength = librosa.onset.onset_strength(
        y=sound.astype(np.float32), sr=rate, n_fft=1024, hop_length=hop,
        n_mels=138, fmin=27.5, fmax=16000.0 if rate >= 32000 else rate / 2, lag=2, max_size=3,
    )  # fmt: skip
    times: NDArray[np.float64] = librosa.onset.onset_detect(
        onset_envelope=strength, sr=rate, hop_length=hop, units="time"
    )
    return times


def superflux_score(scenes: Sequence[Scene]) -> Score:
    """Return librosa's score on ``scenes`` with its constant offset there taken out."""
    pairs = [(s.onsets_s, superflux(s.sound, s.rate)) for s in scenes]
    return scored(pairs, offset_s=scored(pairs).bias_s)
