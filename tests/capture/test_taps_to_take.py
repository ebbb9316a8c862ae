"""Taps on the computer's clock become onsets in track time."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.capture.clock import ClockModel, Piece
from rhythmtrain.capture.taps import TapPath, presses, struck, take_of_taps
from rhythmtrain.devices.ports import Tap

CLOCK = ClockModel(48_000, 1 / 48_000, (Piece(0, 100.0),), 0.0003)
KEYS = TapPath("keys", "keys", stamp_error_s=0.0004, delay_s=0.02, delay_error_s=0.0012)


@given(times=st.lists(st.floats(0, 60), min_size=1, max_size=30), by=st.floats(-0.02, 0.2))
def test_a_larger_sound_delay_makes_every_onset_earlier_by_as_much(
    times: list[float], by: float
) -> None:
    """The delay is one constant: it can be measured once and taken off."""
    taps = [Tap(100 + time, f"key {place}") for place, time in enumerate(times)]
    without = take_of_taps(taps, CLOCK, TapPath("keys", "keys"), duration_s=60)
    shifted = take_of_taps(taps, CLOCK, TapPath("keys", "keys", delay_s=by), duration_s=60)
    assert [t - by for t in without.times_s] == pytest.approx(list(shifted.times_s), abs=1e-9)


def test_an_onset_states_all_that_is_not_known_of_it() -> None:
    """Clock, stamp and delay do not know each other: their squares add."""
    take = take_of_taps([Tap(101.5, "space")], CLOCK, KEYS, duration_s=8)
    (heard,) = take.heard
    assert heard.time_s == pytest.approx(1.48)
    assert heard.uncertainty_s == pytest.approx(math.sqrt(0.3**2 + 0.4**2 + 1.2**2) * 1e-3)
    assert (take.source, take.duration_s, heard.length_s) == ("keys", 8, None)


def test_what_is_tapped_while_the_sound_stands_still_is_neither_heard_nor_missed() -> None:
    """Where it lies nobody knows, and who plays on then must not be blamed for a silence."""
    pieces = (Piece(0, 100.0), Piece(4 * 48_000, 101.0))
    stood = ClockModel(48_000, 1 / 48_000, pieces, 0.0003, ((3.0, 4.0),))
    taps = [Tap(100 + time, f"key {time}") for time in (1.0, 2.9, 3.5, 4.4, 5.2, 7.0)]
    take = take_of_taps(taps, stood, KEYS, duration_s=8)
    assert take.times_s == pytest.approx([0.98, 2.88, 4.18, 5.98])
    assert take.hidden_s[0] == pytest.approx(2.98)
    assert take.hidden_s[-1] == pytest.approx(3.98)
    assert max(b - a for a, b in itertools.pairwise(take.hidden_s)) <= 0.03


def test_a_pad_tells_how_long_and_how_hard() -> None:
    """A note ends when it is let go; one that is still held has no length."""
    taps = [
        Tap(1.0, "60", 90),
        Tap(1.1, "64", 70),
        Tap(1.4, "60", released=True),
        Tap(2.0, "60", 80),
        Tap(2.2, "64", released=True),
    ]
    found = [(press.what, press.velocity, press.length_s) for press in presses(taps)]
    assert found == [
        ("60", 90, pytest.approx(0.4)),
        ("64", 70, pytest.approx(1.1)),
        ("60", 80, None),
    ]


def test_a_chord_is_one_onset() -> None:
    """Three notes of one chord are not three claps."""
    taps = [Tap(1.0, "60"), Tap(1.01, "64"), Tap(1.02, "67"), Tap(1.2, "60")]
    assert [press.time_s for press in struck(presses(taps))] == [1.0, 1.2]


@pytest.mark.parametrize(("wait_s", "gap_s"), [(0.25, 0.03), (0.5, 0.033), (0.66, 0.05)])
def test_a_key_held_down_is_one_note_that_was_held(wait_s: float, gap_s: float) -> None:
    """A terminal repeats a held key; a player who leans on it has played once."""
    repeats = [Tap(3 + wait_s + gap_s * number, "space") for number in range(20)]
    taps = [Tap(1.0, "space"), Tap(2.0, "space"), Tap(3.0, "space"), *repeats]
    found = presses(taps)
    assert [press.time_s for press in found] == [1.0, 2.0, 3.0]
    assert found[2].length_s == pytest.approx(wait_s + 19 * gap_s)
    assert found[1].length_s is None


def test_a_run_without_a_first_press_begins_where_it_begins() -> None:
    """A key that was down before the track began."""
    found = presses([Tap(5 + 0.03 * number, "x") for number in range(9)])
    assert [press.time_s for press in found] == [5.0]


@given(gap_s=st.floats(0.07, 0.5), count=st.integers(2, 40))
def test_fast_fingers_are_never_taken_for_a_held_key(gap_s: float, count: int) -> None:
    """Fourteen taps a second on one key are still taps."""
    taps = [Tap(1 + number * gap_s, "space") for number in range(count)]
    assert len(presses(taps)) == count


def test_two_quick_touches_of_one_key_are_two() -> None:
    """Only a run of three is a key repeating itself."""
    assert len(presses([Tap(1.0, "a"), Tap(1.05, "a"), Tap(2.0, "a")])) == 3


def test_no_taps_make_an_empty_take() -> None:
    """Nobody played: that is for the report to say."""
    assert take_of_taps([], CLOCK, KEYS, duration_s=4).heard == ()
