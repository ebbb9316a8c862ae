"""A loudspeaker's gain that moves, told from a room that does, and found together with its room."""

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.signal import fftconvolve

from rhythmtrain.hearing.bleed.bleed import removal_db
from rhythmtrain.hearing.bleed.loudspeaker import driven_by, every_other_third, moves, steady
from rhythmtrain.hearing.bleed.room import inputs_of, predicted, response, trust

RATE, SECONDS = 8_000, 12
Sound = NDArray[np.float32]


def _track(rng: np.random.Generator) -> Sound:
    """Return bursts of sound of many lengths and levels."""
    count = SECONDS * RATE
    level = np.repeat(10 ** rng.uniform(-1.5, 0, 5 * SECONDS), RATE // 5)
    return (0.2 * rng.standard_normal(count) * level).astype(np.float32)


def _room(rng: np.random.Generator) -> NDArray[np.float64]:
    time = np.arange(round(0.25 * RATE)) / RATE
    room = 0.3 * rng.standard_normal(len(time)) * 10 ** (-3 * time / 0.25)
    room[30] = 1.0
    return room


def _squeezed(track: Sound) -> NDArray[np.float64]:
    """Return the gain of a plain compressor: quick down, slowly up."""
    level, gain = 0.0, np.empty(len(track))
    for at, size in enumerate(np.abs(track)):
        level += (0.02 if size > level else 0.0008) * (float(size) - level)
        gain[at] = min(1.0, (0.1 / max(level, 1e-6)) ** 0.6)
    return gain


def _clapped(rng: np.random.Generator, sound: NDArray[np.float64]) -> Sound:
    heard = sound + 1e-3 * rng.standard_normal(len(sound))
    for at in range(RATE, len(heard) - RATE, 2 * RATE // 3):
        heard[at : at + 400] += rng.standard_normal(400) * np.exp(-np.arange(400) / 80)
    return heard.astype(np.float32)


def _heard_through(kind: str) -> tuple[Sound, Sound, Sound]:
    """Return the track, what is heard of it, and the same with claps."""
    rng = np.random.default_rng(21)
    track = _track(rng)
    played = track * (_squeezed(track) if kind == "compressor" else 1.0)
    bleed = fftconvolve(played, _room(rng))[: len(track)]
    if kind == "room":
        share = np.linspace(0, 1, len(track))
        bleed = (1 - share) * bleed + share * fftconvolve(played, _room(rng))[: len(track)]
    return track, bleed.astype(np.float32), _clapped(rng, bleed)


def _rough(track: Sound, heard: Sound) -> Sound:
    inputs = inputs_of([track], RATE)
    room = response(inputs, heard, np.ones_like(heard))
    return response(inputs, heard, trust(heard - predicted(inputs, room), RATE), start=room)


@pytest.mark.parametrize(
    ("kind", "moving"), [("compressor", True), ("still", False), ("room", False)]
)
def test_a_gain_is_believed_only_where_the_loudspeaker_has_one(kind: str, *, moving: bool) -> None:
    """A free gain would bend to a room that changes, and to the claps."""
    track, _, heard = _heard_through(kind)
    driven = steady(track, _rough(track, heard), RATE)
    assert moves(driven, heard, trust(heard - driven.bleed, RATE)) == moving


def test_gain_and_room_are_found_together() -> None:
    """What one response for all leaves of a compressor is claps' size; with the gain it is gone."""
    track, bleed, heard = _heard_through("compressor")
    before = steady(track, _rough(track, heard), RATE)
    after = driven_by(before, heard, 0)
    one, both = (removal_db(bleed, bleed - each.bleed) for each in (before, after))
    assert one < 15
    assert both > one + 8


def test_halves_of_the_spectrum_add_up_and_share_nothing() -> None:
    """Else the one would say what the other heard."""
    sound = np.random.default_rng(22).standard_normal(RATE).astype(np.float32)
    odd, even = (every_other_third(sound, RATE, odd=odd) for odd in (True, False))
    assert np.allclose(odd + even, sound, atol=1e-4)
    assert abs(float(np.dot(odd, even))) < 0.1 * float(np.dot(sound, sound))
