"""Where the music of a recording begins and ends: without silence, noise or applause at the ends.

Notes stand out of their neighbourhood: of the semitones some are loud and those between them are
not.  Noise and applause sound on all of them alike.  So a frame counts as music where it is loud
enough and its semitones differ enough, and the span runs from the first to the last stretch of half
a second most of which does.
"""

import numpy as np

from rhythmtrain.hearing.recording.spectra import PITCH_HOP_S, Spectra

QUIET_DB = -45.0
# Standard deviation in dB of the semitones' levels from their running mean over an octave: 99 of
# 100 frames of noise and applause stay under 3.5 and the median of piano is 7 (measured on the
# development seeds of tests/simulate/performances.py).
LEAST_CONTRAST_DB = 4.0
OCTAVE = 12
STRETCH_S, MOST = 0.5, 0.6
SMOOTH_FRAMES = 5


def active_span(spectra: Spectra) -> tuple[float, float]:
    """Return the seconds at which the music begins and ends; the whole where none stands out."""
    kernel = np.ones(SMOOTH_FRAMES) / SMOOTH_FRAMES
    smooth = np.apply_along_axis(np.convolve, 0, spectra.pitches, kernel, "same")
    loud = smooth.max(axis=1)
    audible = loud > np.percentile(loud, 95) * 10 ** (QUIET_DB / 10)
    levels = 10 * np.log10(smooth + 1e-12)
    music = audible & (_contrast(levels) > LEAST_CONTRAST_DB)
    width = round(STRETCH_S / PITCH_HOP_S)
    sums = np.concatenate(([0], np.cumsum(music)))
    full = np.flatnonzero(sums[width:] - sums[:-width] >= MOST * width)
    if full.size == 0:
        return 0.0, spectra.duration_s
    inside = np.flatnonzero(music[full[0] : full[-1] + width]) + full[0]
    start, stop = inside[0] * PITCH_HOP_S, (inside[-1] + 1) * PITCH_HOP_S
    return float(start), float(min(stop, spectra.duration_s))


def _contrast(levels: np.ndarray) -> np.ndarray:
    """Return how far the semitones of each frame stand out of the octave around them, in dB."""
    half = OCTAVE // 2
    padded = np.pad(levels, ((0, 0), (half, half)), mode="edge")
    sums = np.concatenate((np.zeros((len(levels), 1)), np.cumsum(padded, axis=1)), axis=1)
    means = (sums[:, OCTAVE + 1 :] - sums[:, : -OCTAVE - 1]) / (OCTAVE + 1)
    contrast: np.ndarray = np.std(levels - means[:, : levels.shape[1]], axis=1)
    return contrast
