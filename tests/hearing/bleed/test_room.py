"""The response of a room, and what is left between two clocks, found from a known track."""

import numpy as np
import pytest
from numpy.typing import NDArray

from rhythmtrain.hearing.bleed.room import inputs_of, predicted, response, trust
from rhythmtrain.hearing.bleed.skew import drift_left, warped
from tests.simulate.rooms import read_at

RATE = 16_000
Sound = NDArray[np.float32]


def _noise(seed: int, seconds: float) -> Sound:
    rng = np.random.default_rng(seed)
    return rng.standard_normal(round(seconds * RATE)).astype(np.float32)


def _tail(seed: int) -> Sound:
    falling = 10 ** (-3 * np.arange(round(0.3 * RATE)) / (0.3 * RATE))
    tail = 0.1 * _noise(seed, 0.3) * falling
    tail[40] = 1.0
    return tail.astype(np.float32)


def test_prediction_is_convolution() -> None:
    """Blocks and FFTs give what the sum over the echoes gives, at block borders too."""
    track, tail = _noise(1, 4.0), _tail(2)
    inputs = inputs_of([track], RATE)
    echoes = np.zeros((1, inputs.taps), np.float32)
    echoes[0, : len(tail)] = tail
    plain = np.convolve(track.astype(np.float64), tail)[: len(track)]
    assert np.abs(predicted(inputs, echoes) - plain).max() < 1e-4


def test_a_room_is_found_from_its_track() -> None:
    """Then nothing of the loudspeaker is left over."""
    track = _noise(3, 6.0)
    heard = np.convolve(track, _tail(4))[: len(track)].astype(np.float32)
    inputs = inputs_of([track], RATE)
    found = response(inputs, heard, np.ones_like(heard))
    left = heard - predicted(inputs, found)
    assert np.sum(left**2) < 1e-4 * np.sum(heard**2)


def test_claps_do_not_spoil_the_room() -> None:
    """Trusting loud leftovers less finds the room nearly as well as without the player."""
    track = _noise(5, 6.0)
    bleed = np.convolve(track, _tail(6))[: len(track)].astype(np.float32)
    heard = bleed.copy()
    for at in range(5000, len(heard) - 2000, 11_000):
        heard[at : at + 1500] += 20 * _noise(at, 1500 / RATE) * np.exp(-np.arange(1500) / 200)
    inputs = inputs_of([track], RATE)
    rough = response(inputs, heard, np.ones_like(heard))
    weights = trust(heard - predicted(inputs, rough), RATE)
    fine = response(inputs, heard, weights, start=rough)
    lost = [float(np.sum((bleed - predicted(inputs, each)) ** 2)) for each in (rough, fine)]
    assert lost[1] < 0.1 * lost[0]
    assert lost[1] < 1e-2 * np.sum(bleed**2)


@pytest.mark.parametrize("skew_ppm", [-450.0, 0.0, 450.0])
def test_warping_reads_the_track_on_the_other_clock(skew_ppm: float) -> None:
    """Also in the middle of a long track, where the clocks are milliseconds apart."""
    track = np.convolve(_noise(7, 8.0), np.hanning(9) / 4.5, "same").astype(np.float32)
    first, stop = 70_000, 110_000
    laid = warped(track, (first, stop), RATE, delay_s=0.0123, skew_ppm=skew_ppm)
    places = (np.arange(first, stop) - 0.0123 * RATE) / (1 + skew_ppm * 1e-6)
    truth = read_at(track.astype(np.float64), places)
    assert np.sqrt(np.mean((laid - truth) ** 2)) < 2e-3 * np.sqrt(np.mean(truth**2))


def test_outside_the_track_there_is_silence() -> None:
    """Before it began and after it ended."""
    laid = warped(np.ones(100, np.float32), (-500, 700), RATE, delay_s=0.0, skew_ppm=0.0)
    assert not laid[:480].any()
    assert not laid[620:].any()
    assert laid[550] == pytest.approx(1.0, abs=0.01)


def test_what_is_left_between_the_clocks_is_found() -> None:
    """A twentieth of a sample and a few millionths: one step comes within a tenth of it."""
    smooth = np.convolve(_noise(8, 20.0), np.hanning(9) / 4.5, "same").astype(np.float32)
    at = np.arange(len(smooth))
    heard = read_at(smooth.astype(np.float64), at - (0.05 + at * 2e-6)).astype(np.float32)
    heard += 0.1 * _noise(9, 20.0)
    (late_s, slope), (late_error_s, slope_error) = drift_left(
        heard, smooth, np.ones_like(heard), RATE
    )
    assert late_s == pytest.approx(0.05 / RATE, abs=0.01 / RATE + 5 * late_error_s)
    assert slope == pytest.approx(2e-6, abs=2e-7 + 5 * slope_error)
    assert slope_error < 3e-7
