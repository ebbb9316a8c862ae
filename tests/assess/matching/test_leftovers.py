"""The second stage: what is left over between two pairs is early or late, not missed and extra."""

import numpy as np

from rhythmtrain.assess.doubles import single
from rhythmtrain.assess.matching.leftovers import pair_leftovers

NOBODY = np.empty(0, dtype=np.intp)


def test_a_note_half_a_beat_late_keeps_its_own_clap() -> None:
    """Without it the player reads "missed" and "extra" where there was one late note."""
    expected, played = np.array([0.0, 1.0, 2.0]), np.array([0.0, 1.5, 2.0])
    ends = np.array([0, 2])
    notes, claps = pair_leftovers(expected, played, np.ones(3), ends, ends)
    assert notes.tolist() == claps.tolist() == [0, 1, 2]


def test_nothing_is_paired_from_farther_than_three_quarters_of_a_beat() -> None:
    """A clap a whole beat away is another thing."""
    expected, played = np.array([0.0, 1.0, 3.0]), np.array([0.0, 1.8, 3.0])
    ends = np.array([0, 2])
    notes, _ = pair_leftovers(expected, played, np.ones(3), ends, ends)
    assert notes.tolist() == [0, 2]


def test_as_many_as_possible_are_paired_and_then_the_nearest() -> None:
    """Two claps for three notes: both count, each where it is least wrong."""
    expected, played = np.array([0.0, 0.5, 1.0]), np.array([0.1, 0.9])
    notes, claps = pair_leftovers(expected, played, np.ones(3), NOBODY, NOBODY)
    assert list(zip(notes.tolist(), claps.tolist(), strict=True)) == [(0, 0), (2, 1)]


def test_a_gap_too_wide_to_weigh_is_left_alone() -> None:
    """A long stretch with nothing right in it is not worth a guess."""
    many = np.arange(0, 100.0)
    notes, _ = pair_leftovers(many, many + 0.4, np.ones(100), NOBODY, NOBODY)
    assert len(notes) == 0


def test_a_clap_heard_twice_counts_once() -> None:
    """A bouncing hand or a chattering key gives a second onset within 30 to 80 ms."""
    heard = single(np.array([0.0, 0.05, 0.5, 0.57, 0.62, 1.0]), 0.5)
    assert heard.tolist() == [True, False, True, False, True, True]


def test_notes_written_close_together_are_not_taken_for_doubles() -> None:
    """A roll of thirty-seconds at a quick tempo is meant."""
    assert single(np.array([0.0, 0.06, 0.12, 0.18]), 0.06).all()
