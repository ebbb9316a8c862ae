"""One entry tried alone: beside the beat itself, and never called late where honest players are."""

import math

import numpy as np
import pytest

from rhythmtrain.assess.findings import EntryFinding
from rhythmtrain.assess.judging.lone_entry import CameIn, lone_entry

BEAT_S = 60 / 72


def _entry(offset_s: float | None, verdict: str = "in time") -> EntryFinding:
    beats = None if offset_s is None else offset_s / BEAT_S
    return EntryFinding(11, "2&", 1, 8, 16.0, offset_s, beats, verdict, "")


@pytest.mark.parametrize("verdict", ["one beat early", "half a beat late", "drifted", "missed"])
def test_what_is_out_by_a_count_stays_so(verdict: str) -> None:
    """A beat early is a miscount, whatever the delay of the sound."""
    offset = None if verdict == "missed" else -BEAT_S
    assert lone_entry(_entry(offset, verdict)) == CameIn(verdict, good=False)


def test_a_phrase_that_is_late_as_a_whole_is_late() -> None:
    """Its own habit must not hide it, as it would in a longer take."""
    assert lone_entry(_entry(0.18)) == CameIn("late", good=False, late=True)
    assert lone_entry(_entry(-0.18)) == CameIn("early", good=False)


def test_what_lies_where_honest_players_do_is_in_time_whatever_was_said_of_the_note() -> None:
    """A false "late" is the worst fault."""
    assert lone_entry(_entry(0.09, "late")) == CameIn("in time", good=True)
    assert lone_entry(_entry(-0.09, "early")) == CameIn("in time", good=True)


def test_a_delay_that_nobody_measured_gives_so_much_more_room() -> None:
    """Headphones without a cable are late by a fifth of a second, not the player."""
    assert lone_entry(_entry(0.2), delay_error_s=0.15).good
    assert not lone_entry(_entry(0.2)).good
    assert lone_entry(_entry(0.12), uncertainty_s=0.04).good


def test_fewer_than_one_honest_entry_in_a_hundred_is_called_late() -> None:
    """Single taps beside a click: a little early on the whole, people 25 ms apart, taps 28 ms."""
    random = np.random.default_rng(11)
    offsets = random.normal(-0.02, math.hypot(0.025, 0.028), 20_000)
    late = sum(lone_entry(_entry(float(offset))).late for offset in offsets)
    assert late / len(offsets) < 0.01
