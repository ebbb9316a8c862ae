"""Claps heard past a loudspeaker, in rooms on which nothing was chosen."""

from dataclasses import replace

import numpy as np
import pytest

from rhythmtrain.rehearsal.beside import heard_beside
from rhythmtrain.rehearsal.clap import ClapWish, clap_along
from tests.simulate.microphone_table import told
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


def test_a_dry_run_hears_past_its_own_loudspeaker() -> None:
    """The shipped room holds a loudspeaker: every clap is still there, and it is said."""
    heard = clap_along(ClapWish("towpath-rag", bars="1-4", source="mic", dry_run=True))
    tally = heard.document["tally"]
    assert (tally["missed"], tally["extra"]) == (0, 0)
    assert "it was taken out" in heard.text


@pytest.mark.long
@pytest.mark.parametrize("name", CASES)
def test_the_cases_of_the_table(name: str) -> None:
    """Three takes of each case, as loud as the claps, and the same with nobody playing."""
    row = told("held out", CASES[name], 3, bleed_db=0)
    assert row.f >= (0.9 if name == "syllables" else 0.98)
    assert row.worst_ms < 1.0
    assert row.silent == 0


def test_sound_that_was_lost_on_the_way_is_said() -> None:
    """A buffer of 10 ms that the input dropped: no whole take is told from it in silence."""
    take = mixed(scene_of("held out", STILL, 3, LENGTH_S), STILL, bleed_db=0)
    at, lost = 12 * take.rate, take.rate // 100
    heard = np.concatenate([take.heard[:at], take.heard[at + lost :]])
    whole = heard_beside(take.heard, take.track, take.rate)
    assert not any("lost" in each for each in whole.remarks)
    assert "Sound was lost" in heard_beside(heard, take.track, take.rate).remarks[-1]


def test_clicks_alone_are_said_not_to_be_taken_out() -> None:
    """The remedy stands beside it."""
    case = replace(STILL, layers=("click",))
    take = mixed(scene_of("held out", case, 1, 10.0), case, bleed_db=0)
    assert "Keep the spoken count" in heard_beside(take.heard, take.track, take.rate).remarks[0]
