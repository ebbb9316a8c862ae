"""A player heard past a loudspeaker stretch by stretch: as in one piece, and never held whole."""

import tracemalloc

import numpy as np
import pytest

from rhythmtrain.hearing.bleed.bleed import Cleared
from rhythmtrain.hearing.bleed.delay import SoundDelay
from rhythmtrain.hearing.bleed.past import PastBleed

RATE = 8000
STRETCH_S = 5.0
DELAY = SoundDelay(0.0, 1e-4, 20.0)


def _stretch(first: int, left: np.ndarray, rng: np.random.Generator) -> Cleared:
    bleed = 0.05 * rng.standard_normal(len(left)).astype(np.float32)
    return Cleared(
        first,
        left.astype(np.float32),
        bleed,
        0.02 * bleed,
        DELAY,
        30.0,
        np.zeros((2, 4), np.float32),
        1.0,
    )


def _claps(seconds: float, rng: np.random.Generator) -> tuple[np.ndarray, list[float]]:
    """Return claps over a little noise, none nearer than 0.2 s to where stretches of 5 s meet."""
    sound = 1e-3 * rng.standard_normal(round(seconds * RATE))
    times = [t for t in np.arange(0.5, seconds - 0.5, 0.55).tolist() if 0.2 < t % STRETCH_S < 4.7]
    for time_s in times:
        at = round(time_s * RATE)
        sound[at : at + 800] += 0.5 * rng.standard_normal(800) * np.exp(-np.arange(800) / 100)
    return sound, times


def _heard(sound: np.ndarray, cuts: list[int]) -> tuple[list[float], float, PastBleed]:
    past, rng = PastBleed(RATE), np.random.default_rng(3)
    whole = _stretch(0, sound, rng)
    for first, stop in zip([0, *cuts], [*cuts, len(sound)], strict=True):
        part = slice(first, stop)
        past.feed(
            Cleared(
                first,
                whole.left[part],
                whole.bleed[part],
                whole.leftover[part],
                DELAY,
                30.0,
                whole.rooms,
                1.0,
            )
        )
    return [each.time_s for each in past.finish()], past.claimed_db, past


@pytest.mark.parametrize("cuts", [[40_000], [40_000, 80_000], [3000, 41_234, 77_000]])
def test_stretches_are_heard_as_one_piece(cuts: list[int]) -> None:
    """Where the recording was cut for the computer's sake, no clap moves and none is lost."""
    sound, times = _claps(14.0, np.random.default_rng(1))
    whole, claimed_db, _ = _heard(sound, [])
    assert whole == pytest.approx(times, abs=0.003)
    parts, again_db, past = _heard(sound, cuts)
    assert parts == whole
    assert again_db == pytest.approx(claimed_db)
    assert claimed_db == pytest.approx(34.0, abs=0.1)
    assert past.frames == len(sound)


def test_a_long_take_is_not_held_once_more() -> None:
    """Ten more stretches add their claps, not their sound (4.8 MB)."""
    past, rng = PastBleed(RATE), np.random.default_rng(2)
    sound, _ = _claps(STRETCH_S, rng)
    kept = []
    tracemalloc.start()
    try:
        for number in range(14):
            past.feed(_stretch(number * len(sound), sound, rng))
            kept.append(tracemalloc.get_traced_memory()[0])
    finally:
        tracemalloc.stop()
    assert kept[13] - kept[3] < 600_000
