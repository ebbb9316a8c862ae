"""The loudspeaker taken out of what a microphone heard."""

import numpy as np
import pytest

from rhythmtrain.hearing.bleed.bleed import cleared, removal_db, stretches
from rhythmtrain.hearing.bleed.delay import measured_delay
from tests.simulate.rooms import CASES, mixed, scene_of

LENGTH_S, SHORT_S = 16.0, 12.0
STILL = CASES["still room, overload"]


@pytest.mark.parametrize(
    ("name", "least_db"),
    [("still room, overload", 30), ("loudspeaker compressor", 14), ("microphone swaying", 25)],
)
def test_most_of_the_loudspeaker_is_taken_out(name: str, least_db: float) -> None:
    """Measured against the bleed alone, which only the simulation knows, claps and all."""
    scene = scene_of("held out", CASES[name], 3, LENGTH_S)
    take = mixed(scene, CASES[name], bleed_db=0)
    delay = measured_delay(take.heard, take.track, take.rate)
    pieces = list(cleared(take.heard, take.track, take.rate, delay))
    taken = np.concatenate([each.bleed for each in pieces])
    true = scene.bleed * (np.dot(scene.bleed, taken) / np.dot(scene.bleed, scene.bleed))
    assert removal_db(true, true - taken) > least_db
    left = np.concatenate([each.left for each in pieces])
    assert np.allclose(left + taken, take.heard, atol=1e-6)


def test_clocks_are_told_from_a_short_take() -> None:
    """Twelve seconds: the room bends to clocks that are wrong, and must not keep them so."""
    scene = scene_of("held out", STILL, 3, SHORT_S)
    take = mixed(scene, STILL, bleed_db=0)
    delay = measured_delay(take.heard, take.track, take.rate)
    assert abs(delay.skew_ppm - take.skew_ppm) > 10
    piece = next(cleared(take.heard, take.track, take.rate, delay))
    assert abs(piece.delay.skew_ppm - take.skew_ppm) < 1.0


def test_stretches_follow_one_another_and_none_is_too_short() -> None:
    """Half a minute each; a rest of a second belongs to the one before."""
    assert stretches(61_000, 1000) == [(0, 30_000), (30_000, 61_000)]
    assert stretches(500, 1000) == [(0, 500)]
    assert stretches(65_000, 1000)[-1] == (60_000, 65_000)
