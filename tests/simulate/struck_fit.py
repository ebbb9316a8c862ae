"""The weights by which strokes are heard: ``python -m tests.simulate.struck_fit [pieces] [seed]``.

Logistic regression on performances on all pianos but the held-out one, asked at beats that are off by some milliseconds as those
of a beat map are.  Prints the weights and how they do on as many others.
"""

import sys

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.recording.spectra import SpectraFinder
from rhythmtrain.hearing.recording.struck import stroke_terms
from tests.simulate.aloud_fit import fitted
from tests.simulate.performances import perform_on
from tests.simulate.pianos import HELD_OUT_PIANO, INSTRUMENTS

Floats = NDArray[np.float64]
PIECES, SEED, BARS = 48, 2000, 20
OFF_S = 0.008
PIANOS = tuple(which for which in range(len(INSTRUMENTS)) if which != HELD_OUT_PIANO)


def asked(seed: int) -> tuple[Floats, Floats]:
    """Return the terms at all parts of beats of one piece, shape (6, n), and where a note is."""
    played = perform_on(PIANOS[seed % len(PIANOS)], seed, bars=BARS)
    finder = SpectraFinder(played.rate)
    finder.feed(played.sound)
    parts = 6 if np.isclose(played.piece.onset % 1, 1 / 3).any() else 4
    beats = played.beats_s + np.random.default_rng(seed).normal(0, OFF_S, played.beats_s.size)
    places = np.arange(parts * (beats.size - 1))
    seconds = np.interp(places / parts, np.arange(beats.size), beats)
    truth = np.isin(places, np.rint(parts * played.piece.onset))
    return stroke_terms(finder.finish(), seconds), truth.astype(float)


def joined(pieces: int, seed: int) -> tuple[Floats, Floats]:
    """Return the terms of many pieces."""
    terms, truth = zip(*(asked(seed + number) for number in range(pieces)), strict=True)
    return np.concatenate(terms, axis=1), np.concatenate(truth)


def main(pieces: int, seed: int) -> None:
    """Print weights, and the share of wrong answers on other pieces."""
    terms, truth = joined(pieces, seed)
    weights = fitted(terms[1:].T, truth)
    print(np.round(weights, 2).tolist())  # noqa: T201
    terms, truth = joined(pieces, seed + pieces)
    wrong = np.mean((weights @ terms > 0) != truth)
    print(f"{len(truth)} places, {100 * wrong:.1f} of 100 wrong")  # noqa: T201


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:]]
    main(*(numbers + [PIECES, SEED][len(numbers) :]))
