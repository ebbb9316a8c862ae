"""A room that changes while it is listened to."""

import numpy as np
from numpy.typing import NDArray
from scipy.signal import fftconvolve

from rhythmtrain.hearing.bleed.bleed import removal_db
from rhythmtrain.hearing.bleed.parts import changed
from rhythmtrain.hearing.bleed.piece import Piece
from rhythmtrain.hearing.bleed.room import inputs_of, predicted, response

RATE, SECONDS = 8_000, 20
Sound = NDArray[np.float32]


def _rooms(share: NDArray[np.float64]) -> tuple[Sound, Sound]:
    """Return a track, and what is heard of it while one room becomes another as ``share`` says."""
    rng = np.random.default_rng(51)
    track = rng.standard_normal(SECONDS * RATE).astype(np.float32)
    tails = 0.1 * rng.standard_normal((2, 1200)) * 10 ** (-3 * np.arange(1200) / 1200)
    tails[:, 30] = 1.0
    one, other = (fftconvolve(track, tail)[: len(track)] for tail in tails)
    noise = 0.01 * rng.standard_normal(len(track))
    return track, ((1 - share) * one + share * other + noise).astype(np.float32)


def _solved(share: NDArray[np.float64]) -> tuple[Sound, Sound, Sound | None]:
    track, heard = _rooms(share)
    inputs = inputs_of([track], RATE)
    room = response(inputs, heard, np.ones_like(heard))
    found = changed(Piece(0, 0, heard, track, RATE), [track], room)
    return heard, predicted(inputs, room), found


def test_a_room_that_changes_is_followed() -> None:
    """One response for all cannot; parts that fade into each other can."""
    heard, fixed, moved = _solved(np.linspace(0, 1, SECONDS * RATE))
    assert moved is not None
    assert removal_db(heard, heard - moved) > removal_db(heard, heard - fixed) + 3


def test_a_room_that_stays_is_solved_once() -> None:
    """Parts of five seconds would only bend to the noise in them."""
    _, _, moved = _solved(np.zeros(SECONDS * RATE))
    assert moved is None
