"""What went down, from releases where they are told and from a held key's repeats where not."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.capture.presses import presses
from rhythmtrain.devices.ports import Tap


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


def _held(begun_s: float, until_s: float, wait_s: float, gap_s: float) -> list[Tap]:
    """Return what a terminal sends of a key that is held, its repeats 1 ms unsteady."""
    rng = np.random.default_rng(round(1000 * begun_s))
    times = np.arange(begun_s + wait_s, until_s, gap_s)
    return [
        Tap(begun_s, "space"),
        *(Tap(t, "space") for t in times + rng.normal(0, 7e-4, len(times))),
    ]


@pytest.mark.parametrize(("wait_s", "gap_s"), [(0.5, 0.09), (0.375, 0.083), (0.25, 0.0917)])
def test_a_key_that_repeats_slowly_is_held_too(wait_s: float, gap_s: float) -> None:
    """Who holds long notes as written was told of fifteen claps a bar, or of another passage."""
    struck_s = [1.0, 3.0, 3.9, 4.8, 6.8, 7.9]
    ends_s = [2.6, 3.6, 4.5, 6.5, 7.63, 9.9]
    taps = [
        tap
        for at, end in zip(struck_s, ends_s, strict=True)
        for tap in _held(at, end, wait_s, gap_s)
    ]
    found = presses(taps)
    assert [press.time_s for press in found] == struck_s
    assert found[0].length_s == pytest.approx(1.6, abs=gap_s)


def test_two_fingers_in_turn_are_never_taken_for_a_held_key() -> None:
    """Eleven taps a second with rests between: uneven by 5 %, as the steadiest hands are."""
    rng = np.random.default_rng(8)
    for _ in range(40):
        gaps = np.tile([0.5, 0.09, 0.09, 0.09, 0.09], 4) * rng.normal(1, 0.05, 20)
        taps = [Tap(float(at), "space") for at in np.cumsum(gaps)]
        assert len(presses(taps)) == len(taps)


def test_taps_between_held_notes_stay_taps() -> None:
    """A key that repeats slowly may be tapped in the next bar, at whatever pace."""
    held = _held(1.0, 3.0, 0.5, 0.09)
    tapped = [Tap(at, "space") for at in (3.2, 3.45, 3.7, 3.82, 3.94, 4.06, 4.3, 5.5, 5.59)]
    found = presses([*held, *tapped])
    assert [press.time_s for press in found] == [1.0, *(tap.time_s for tap in tapped)]


def test_an_even_run_without_a_keys_wait_before_it_was_tapped() -> None:
    """No key waits less than a fifth of a second before it repeats itself, or as long as a bar."""
    for rest_s in (0.15, 0.9):
        times = np.cumsum(np.tile([rest_s, 0.09, 0.09, 0.09, 0.09], 4))
        assert len(presses([Tap(float(at), "space") for at in times])) == 20
