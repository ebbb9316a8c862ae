"""Where a beat may lie: an onset curve of a recording, and which part of a beat each moment looks like.

The onset curve is the rise of the log bands over 20 ms, where the earlier spectrum first takes its
maximum over neighbouring bands (Böck & Widmer 2013).  It is told in shares of what is usual around
it: 0 is the median and 1 the 97th percentile of the 8 s around, so a soft page counts as much as a
loud one.  The curve runs ahead of the true onsets by a constant, which is taken out.

Three curves are mixed by a logistic law: the onsets of all bands, those below 260 Hz (the bass
often plays on the beat), and the change of the chroma from the fifth of a second before to the one
after (harmony changes on beats).  The law has one row for every part of a beat, by its distance
from the nearer beat in twelfths: on the beat, a triplet's or a sixteenth's place, the half.  It
tells beats from halves by what they usually carry; it cannot tell a downbeat from another beat,
and nobody should ask it to.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.recording.chroma import chroma_change
from rhythmtrain.hearing.recording.spectra import BAND_HOP_S, Energies, Spectra

FRAMES_A_SECOND = 100
LOW_HZ = 260.0
LAG_FRAMES = 2
FLOOR_DB = -65.0
AROUND_S, GRID_S = 8.0, 0.5
USUAL, HIGH = 50.0, 97.0
# How far the peak of the curve lies behind the onset of a chord: measured on the development seeds
# of tests/simulate/performances.py.
CURVE_LAG_S = -0.007
# For each distance from the nearer beat, 0 to 6 twelfths: weights of 1, onsets, low onsets, chroma
# change, onsets squared, onsets times low onsets.  Fitted on development seeds 20 to 43.
WEIGHTS = (
    (-2.14, 3.89, 1.08, -0.04, -0.42, 0.48),
    (0.34, -2.15, 0.33, 2.01, -1.14, -0.12),
    (0.7, -3.4, 0.32, 0.83, 0.09, -1.03),
    (0.67, 1.44, -1.06, -1.47, 0.6, 0.2),
    (0.93, -2.83, -0.3, -0.69, 1.75, -0.6),
    (0.71, -1.25, -0.38, 0.42, -0.07, 0.38),
    (-1.2, 4.3, 0.01, -1.07, -0.81, 0.69),
)
# How often a moment lies at each distance: the beat and the half come once in twelve, others twice.
SHARES = (1 / 12, 1 / 6, 1 / 6, 1 / 6, 1 / 6, 1 / 6, 1 / 12)

Curve = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class BeatEvidence:
    """Curves of 100 frames a second from second 0.

    ``onsets``, shape (n,), is 0 where nothing begins and 1 at a strong onset.  ``phases``, shape
    (7, n), is the logarithm of how much more a moment looks like a place 0, 1 … 6 twelfths of a
    beat from the nearer beat than moments do on the whole.
    """

    onsets: Curve
    phases: Curve


def beat_evidence(spectra: Spectra) -> BeatEvidence:
    """Return the evidence for beats in a recording's ``spectra``."""
    mixed = features(spectra)
    terms = mixing_terms(mixed)
    logits = np.array(WEIGHTS) @ terms
    logits -= logits.max(axis=0)
    chances = np.exp(logits)
    chances /= chances.sum(axis=0)
    phases: Curve = np.log(chances / np.array(SHARES)[:, None])
    return BeatEvidence(mixed[0], phases)


def mixing_terms(curves: tuple[Curve, Curve, Curve]) -> Curve:
    """Return what the logistic law weighs, shape (6, n): each curve's best within a frame."""
    whole, low, change = (_widened(curve) for curve in curves)
    return np.stack((np.ones_like(whole), whole, low, change, whole * whole, whole * low))


def _widened(curve: Curve) -> Curve:
    wide = curve.copy()
    wide[1:] = np.maximum(wide[1:], curve[:-1])
    wide[:-1] = np.maximum(wide[:-1], curve[1:])
    return wide


def features(spectra: Spectra) -> tuple[Curve, Curve, Curve]:
    """Return the onset curve, the low onset curve and the change of chroma, normalised."""
    rise = band_rises(spectra.bands)
    low = spectra.edges_hz < LOW_HZ
    change = chroma_change(spectra.pitches)
    times = np.arange(len(rise)) * BAND_HOP_S
    slow = np.interp(times, np.arange(change.size) * 2 * BAND_HOP_S, change)
    whole, bass = rise.mean(axis=1), rise[:, low].mean(axis=1)
    shifted = (np.interp(times + CURVE_LAG_S, times, curve) for curve in (whole, bass))
    onsets, lows = (normalised(curve) for curve in shifted)
    return onsets, lows, normalised(slow)


def normalised(curve: Curve) -> Curve:
    """Return ``curve`` told in shares of what is usual in the 8 s around: median 0, 97 % 1."""
    half = round(AROUND_S / 2 * FRAMES_A_SECOND)
    centres = np.arange(0, curve.size + 1, round(GRID_S * FRAMES_A_SECOND))
    near = [curve[max(0, c - half) : c + half] for c in centres]
    usual, high = np.array([np.percentile(part, (USUAL, HIGH)) for part in near]).T
    frames = np.arange(curve.size)
    # Where hardly anything happens for 8 s, noise is not blown up to onsets.
    least = 0.1 * np.median(high - usual) + 1e-9
    span = np.maximum(np.interp(frames, centres, high - usual), least)
    shares: Curve = np.clip((curve - np.interp(frames, centres, usual)) / span, 0.0, 1.5)
    return shares


def band_rises(bands: Energies) -> Energies:
    """Return the rise of each band in dB over 20 ms, the time of the middle between the frames."""
    level = band_levels(bands)
    widest = level.copy()
    widest[:, 1:] = np.maximum(widest[:, 1:], level[:, :-1])
    widest[:, :-1] = np.maximum(widest[:, :-1], level[:, 1:])
    rise = np.zeros_like(level)
    half = LAG_FRAMES // 2
    rise[half:-half] = np.maximum(0, level[LAG_FRAMES:] - widest[:-LAG_FRAMES])
    return rise


def band_levels(bands: Energies) -> Energies:
    """Return levels in dB over a floor 65 dB below the loudest bands, at least 0."""
    loud = float(np.percentile(bands.max(axis=1), 95)) or 1e-12
    floor = np.float32(loud * 10 ** (FLOOR_DB / 10))
    level: Energies = 10 * np.log10(1 + bands / floor)
    return level
