"""What is left made as loud at every frequency, and back."""

import numpy as np
from numpy.typing import NDArray
from scipy.signal import lfilter

from rhythmtrain.hearing.bleed.room import inputs_of, predicted, response, trust
from rhythmtrain.hearing.bleed.whitening import FLAT, coloured, whitened, whitener

RATE = 8_000


def _rumble(count: int) -> NDArray[np.float32]:
    noise = np.random.default_rng(31).standard_normal(count)
    rumble: NDArray[np.float32] = lfilter([1.0], [1.0, -1.6, 0.64], noise).astype(np.float32)
    return rumble


def test_a_rumble_is_made_even_and_undone() -> None:
    """One octave is no louder than the next; undone it is the same sound."""
    rumble = _rumble(4 * RATE)
    white = whitener(rumble, np.ones_like(rumble))
    even = whitened(rumble, white)
    power = np.square(np.abs(np.fft.rfft(even))).reshape(-1)[1:].reshape(8, -1).mean(axis=1)
    assert power.max() < 1.3 * power.min()
    assert np.allclose(coloured(even, white), rumble, atol=1e-3 * np.abs(rumble).max())


def test_claps_spoil_the_room_less_where_the_noise_is_even() -> None:
    """Claps that a rumble covers are loud above it; only behind the filter are they seen."""
    rng = np.random.default_rng(32)
    track = rng.standard_normal(6 * RATE).astype(np.float32)
    truth = np.zeros((1, round(0.32 * RATE)), np.float32)
    truth[0, 20], truth[0, 30:1000] = 1.0, 0.02 * rng.standard_normal(970)
    inputs = inputs_of([track], RATE)
    heard = predicted(inputs, truth) + _rumble(len(track))
    for at in range(RATE // 2, len(heard) - RATE // 2, RATE // 2):
        heard[at : at + 400] += np.diff(4 * rng.standard_normal(401))
    wrong = []
    for even in (False, True):
        room, white = response(inputs, heard, np.ones_like(track)), FLAT
        for _ in range(2):
            if even:
                white = whitener(heard - predicted(inputs, room), np.ones_like(track))
            seen, start = whitened(heard, white), whitened(room, white)
            weights = trust(seen - predicted(inputs, start), RATE)
            room = coloured(response(inputs, seen, weights, start=start), white)
        high = np.diff(room - truth)
        wrong.append(float(np.sum(high**2)))
    assert wrong[1] < 0.5 * wrong[0]
