"""Taps on the computer's clock become onsets in track time."""

import itertools
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.capture.clock import ClockModel, Piece
from rhythmtrain.capture.presses import presses
from rhythmtrain.capture.taps import TapPath, struck, take_of_taps
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


def test_a_chord_is_one_onset() -> None:
    """Three notes of one chord are not three claps."""
    taps = [Tap(1.0, "60"), Tap(1.01, "64"), Tap(1.02, "67"), Tap(1.2, "60")]
    assert [press.time_s for press in struck(presses(taps))] == [1.0, 1.2]


def test_a_chord_lasts_until_its_last_note_ends() -> None:
    """Whose thumb leaves first has not cut the chord short."""
    thumb = [Tap(1.0, "60"), Tap(1.2, "60", released=True)]
    finger = [Tap(1.01, "64"), Tap(1.9, "64", released=True)]
    (chord,) = struck(presses([*thumb, *finger]))
    assert (chord.what, chord.time_s) == ("60", 1.0)
    assert chord.length_s == pytest.approx(0.9)
    (open_end,) = struck(presses([*thumb, finger[0], Tap(5.0, "64", released=True)][:3]))
    assert open_end.length_s is None


def test_no_taps_make_an_empty_take() -> None:
    """Nobody played: that is for the report to say."""
    assert take_of_taps([], CLOCK, KEYS, duration_s=4).heard == ()
