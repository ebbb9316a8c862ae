"""How surely something is struck at moments that are known, such as the beats and their parts.

Where the moments are known the question is easier than finding onsets, and can be answered with a chance.
Three things tell a stroke.  All bands rise at once: the mean rise in dB over 20 ms, each band counting for
8 dB at most so that a stroke after silence is not everything.  They stay up: what sounds from 30 to 70 ms
after is louder than from 70 to 30 ms before, and strings that only ring on are softer.  And the hammer
is heard above 4 kHz, where chords that sound on hardly reach.  Each is told in shares of its 90th
percentile over all moments asked about, since a soft page has soft strokes; a logistic law mixes them.

Its weights were fitted on 48 generated performances with rubato, pedal and room, of four pianos, heard at
beats that were off by 8 ms as those of a map are (``python -m tests.simulate.struck_fit``); held-out ones,
of another piano, see tests/hearing/recording/test_struck.py.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rhythmtrain.hearing.recording.beat_evidence import band_levels, band_rises
from rhythmtrain.hearing.recording.spectra import BAND_HOP_S, Spectra

REACH_S = 0.035
BESIDE_S = (0.03, 0.07)
LOUD_PLACES = 90.0
MOST_DB = 8.0
TREBLE_HZ = 4160.0
SOFT_TREBLE_DB, MOST_GROWN = 0.2, 10
NOTHING = 0.02
# Of 1, rise, growth (both as logarithms), their product, treble, dB by which the growing bands grow.
WEIGHTS = (-0.07, 1.72, -0.42, -0.43, 10.87, 0.35)
SURE_NOT, SURE = 0.1, 0.9

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Struck:
    """The chance, of each moment, that something is struck there."""

    chances: tuple[float, ...]

    @property
    def struck(self) -> tuple[bool, ...]:
        """Return of each moment whether something is rather struck there than not."""
        return tuple(chance > 0.5 for chance in self.chances)  # noqa: PLR2004  (rather than not)

    @property
    def unsure(self) -> tuple[bool, ...]:
        """Return of each moment whether that is unsure."""
        return tuple(SURE_NOT < chance < SURE for chance in self.chances)


def struck_at(spectra: Spectra, seconds: ArrayLike) -> Struck:
    """Return how surely something is struck at each of ``seconds``, shape (n,)."""
    moments = np.asarray(seconds, dtype=np.float64)
    terms = stroke_terms(spectra, moments)
    chances = 1 / (1 + np.exp(-np.array(WEIGHTS) @ terms))
    chances[moments > len(spectra.bands) * BAND_HOP_S] = 0.0
    return Struck(tuple(chances.tolist()))


def stroke_terms(spectra: Spectra, moments: Floats) -> Floats:
    """Return what the logistic law weighs at ``moments``, shape (6, n)."""
    rises = np.minimum(band_rises(spectra.bands), MOST_DB)
    rise = _shares(_near(rises.mean(axis=1), moments, -REACH_S, REACH_S).max(axis=0))
    levels, (soon, later) = band_levels(spectra.bands), BESIDE_S
    before = _near(levels, moments, -later, -soon).mean(axis=0)
    grown = _near(levels, moments, soon, later).mean(axis=0) - before
    risen = np.log(rise + NOTHING)
    stays = np.log(_shares(np.maximum(grown, 0.0).mean(axis=1)) + NOTHING)
    most = np.sort(grown, axis=1)[:, -MOST_GROWN:].mean(axis=1)
    treble = _treble(rises[:, spectra.edges_hz >= TREBLE_HZ], moments, rise)
    return np.stack((np.ones(moments.size), risen, stays, risen * stays, treble, most))


def _treble(rises: NDArray[np.float32], moments: Floats, rise: Floats) -> Floats:
    """Return how the treble rises, in shares; as everything does where a recording has none."""
    if not rises.size or not moments.size:
        return rise
    high = _near(rises.mean(axis=1), moments, -REACH_S, REACH_S).max(axis=0)
    return _shares(high, SOFT_TREBLE_DB) if high.max() > SOFT_TREBLE_DB else rise


def _near(curve: NDArray[np.floating], moments: Floats, low_s: float, high_s: float) -> Floats:
    """Return the frames of ``curve`` from ``low_s`` to ``high_s`` around ``moments``, shape (k, n, …)."""
    first = np.ceil((moments + low_s) / BAND_HOP_S).astype(int)
    frames = np.arange(round((high_s - low_s) / BAND_HOP_S))
    places = np.clip(first[None, :] + frames[:, None], 0, len(curve) - 1)
    return np.asarray(curve[places], dtype=np.float64)


def _shares(values: Floats, soft: float = 0.0) -> Floats:
    """Return ``values`` in shares of what is loud among them, where that is more than ``soft``."""
    loud = float(np.percentile(values, LOUD_PLACES)) if values.size else 0.0
    return values / max(loud + soft, 1e-6)
