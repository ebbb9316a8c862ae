"""Strokes in a recording: found to the sample where there is an edge, and nowhere else."""

import numpy as np

from rhythmtrain.render.attacks import find_attacks
from tests.simulate.slow_sounds import clicks, piano


def test_clicks_are_found_to_the_sample() -> None:
    """In faint noise, whatever their voice."""
    sound, at_s = clicks(5, 44_100)
    found = find_attacks([sound[:, None]], 44_100)
    assert len(found) == len(at_s)
    assert np.abs(np.array(found) - at_s).max() <= 3 / 44_100


def test_a_stroke_out_of_digital_silence_is_not_told_too_early() -> None:
    """A track made by a machine has no noise at all."""
    sound = np.zeros((8000, 2), np.float32)
    sound[4000:4100] = 0.5
    found = find_attacks([sound], 8000)
    assert abs(found[0] - 0.5) <= 2 / 8000


def test_what_is_found_in_a_piano_is_an_onset() -> None:
    """A place kept rigid that is none would pull its neighbours."""
    piece = piano(9311)
    found = np.array(find_attacks([piece.make(1.0)[:, None]], piece.rate))
    off = np.array([np.abs(piece.onsets_s - each).min() for each in found])
    assert len(found) > 20
    assert np.mean(off < 0.006) > 0.95


def test_silence_and_hum_have_no_strokes() -> None:
    """Nothing to keep sharp there."""
    hum = 0.3 * np.sin(2 * np.pi * 220 * np.arange(22_050) / 22_050)
    assert len(find_attacks([hum[:, None].astype(np.float32)], 22_050)) <= 1
    assert find_attacks([np.zeros((5000, 1), np.float32)], 22_050) == ()
    assert find_attacks([], 22_050) == ()
