"""Claps heard past a loudspeaker, in rooms on which nothing was chosen."""

from dataclasses import replace

import numpy as np
import pytest

from rhythmtrain.rehearsal.beside import heard_beside
from tests.simulate.onset_score import scored
from tests.simulate.rooms import CASES, Case, mixed, scene_of

LENGTH_S = 24.0
STILL = CASES["still room, overload"]


def _scored(case: Case, number: int, bleed_db: float) -> tuple[float, float, int]:
    take = mixed(scene_of("held out", case, number, LENGTH_S), case, bleed_db=bleed_db)
    found = heard_beside(take.heard, take.track, take.rate).take.times_s
    score = scored([(np.array(take.claps_s), np.array(found))])
    return score.f, score.error_s(95), score.found - score.matched


@pytest.mark.parametrize("bleed_db", [0, 12])
def test_claps_are_heard_past_the_loudspeaker(bleed_db: int) -> None:
    """Also those on a click, and no click is taken for a clap."""
    f, error_s, too_many = _scored(STILL, 3, bleed_db)
    assert f >= 0.97
    assert error_s <= 0.004
    assert too_many <= 1


@pytest.mark.parametrize("bleed_db", [0, 12])
def test_a_silent_player_gives_no_onsets(bleed_db: int) -> None:
    """What is left of the loudspeaker is nobody's clap."""
    scene = scene_of("held out", STILL, 3, LENGTH_S)
    take = mixed(scene, replace(STILL, claps=False), bleed_db=bleed_db)
    assert heard_beside(take.heard, take.track, take.rate).take.heard == ()
