"""What judging with known times reaches on passages that no threshold was chosen on.

A few takes a cell, so the limits stand below what the full table shows:
``python -m tests.simulate.judging_table``.
"""

import pytest

from tests.simulate.judging_trials import (
    entries_trial,
    honest_trial,
    pairs_trial,
    refused,
    shift_trial,
    speed_trial,
)

HALF = "unseen"


@pytest.mark.parametrize(("speed", "given"), [(1.0, True), (1.0, False), (None, False)])
def test_honest_players_are_hardly_ever_blamed(speed: float | None, *, given: bool) -> None:
    """A false "late" to a good player is the worst fault: at most one plain word in 100 notes."""
    plain, in_time, _, named = honest_trial(HALF, 12, speed=speed, given=given)
    assert plain <= 1.0
    assert in_time >= 92
    assert named <= 0.5


def test_claps_go_to_their_own_notes() -> None:
    """One in ten missed and as many too many; the start unknown."""
    precision, recall, found = pairs_trial(HALF, 12, share=0.1, notes=64)
    assert precision >= 0.96
    assert recall >= 0.98
    assert found == 1


def test_a_very_careless_take_is_still_followed() -> None:
    """One in five missed and as many too many."""
    precision, recall, found = pairs_trial(HALF, 12, share=0.2, notes=32)
    assert precision >= 0.87
    assert recall >= 0.96
    assert found >= 0.9


def test_the_right_passage_is_hardly_ever_refused() -> None:
    """Up to a fifth amiss."""
    assert refused(HALF, 10, "right", share=0.1, notes=32) == 0
    assert refused(HALF, 10, "right", share=0.2, notes=64) <= 0.1


def test_another_passage_is_mostly_refused() -> None:
    """In the same metre, at the same tempo, made of the same figures."""
    assert refused(HALF, 10, "other", share=0.1, notes=64) >= 0.7


def test_entries_are_put_in_the_right_class() -> None:
    """Half a beat, a beat, a bar out, either way."""
    rates = entries_trial(HALF, 6, after=8, given=True)
    assert rates["right"] == 1
    assert min(rates.values()) >= 0.85


@pytest.mark.parametrize("beats", [-1.0, 1.0])
def test_a_whole_take_a_beat_away_is_one_shift(beats: float) -> None:
    """With the start known."""
    assert shift_trial(HALF, 8, beats) >= 0.85


def test_an_unknown_speed_is_found() -> None:
    """Within one per cent, between half and double."""
    assert speed_trial(HALF, 6) >= 0.8
