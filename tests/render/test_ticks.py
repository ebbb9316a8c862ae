"""Seconds to ticks and back: on the grid of the tempo, and within a millisecond after hours."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.render.ticks import TICKS_A_QUARTER, TickMap, tick_map

TEMPI = st.lists(st.tuples(st.floats(0.5, 40.0), st.floats(3.0, 999.0)), min_size=1, max_size=12)


def laid_out(parts: list[tuple[float, float]]) -> tuple[tuple[tuple[float, float], ...], float]:
    """Return (second, tempo) pairs and the whole length from (length, tempo) pairs."""
    second, tempi = 0.0, []
    for length, tempo in parts:
        tempi.append((second, tempo))
        second += length
    return tuple(tempi), second


@given(TEMPI, st.lists(st.floats(0, 1), min_size=1, max_size=20))
def test_every_place_is_given_back_within_a_millisecond(
    parts: list[tuple[float, float]], shares: list[float]
) -> None:
    """Whoever opens the file hears each note where it was planned, whatever the tempi do."""
    tempi, duration = laid_out(parts)
    ticks = tick_map(tempi, duration)
    for share in shares:
        second = share * duration
        assert abs(ticks.second(ticks.tick(second)) - second) <= 0.001


@pytest.mark.parametrize("tempo", [60, 90, 96, 100, 132, 144, 184, 208, 300.3])
def test_beats_stay_on_the_grid_and_in_time_for_three_hours(tempo: float) -> None:
    """Bar lines in a notation program stay true: a beat is a whole quarter, to the tick."""
    ticks = tick_map(((0.0, tempo),), 10_800.0)
    for beat in range(0, int(10_800 * tempo / 60), 997):
        second = beat * 60 / tempo
        assert abs(ticks.tick(second) - beat * TICKS_A_QUARTER) <= 6
        assert abs(ticks.second(beat * TICKS_A_QUARTER) - second) <= 0.0003


def test_a_steady_tempo_is_written_once() -> None:
    """An ordinary track holds one tempo, the nearest microsecond, not a row of corrections."""
    for tempo, us in ((60, 1_000_000), (90, 666_667), (120, 500_000), (132, 454_545)):
        steps = tick_map(((0.0, tempo),), 60.0).steps
        assert [step.us_a_quarter for step in steps] == [us]


def test_steps_go_forward_and_differ() -> None:
    """A reader meets each tempo once, in order."""
    tempi, duration = laid_out([(3.0, 72.0 + n) for n in range(30)])
    steps = tick_map(tempi, duration).steps
    for before, after in pairwise(steps):
        assert after.tick > before.tick
        assert after.us_a_quarter != before.us_a_quarter


def test_a_tempo_said_twice_is_written_once() -> None:
    """Parts of a passage that go on at one tempo need no new mark."""
    tempi = ((0.0, 120.0), (3.0, 120.0), (5.0, 60.0), (9.0, 60.0))
    assert [step.us_a_quarter for step in tick_map(tempi, 12.0).steps] == [500_000, 1_000_000]


def test_without_a_tempo_midis_own_holds() -> None:
    """A plan that says nothing is read at 120 quarters a minute."""
    assert tick_map((), 4.0).tick(1.0) == 2 * TICKS_A_QUARTER


def test_the_first_tempo_holds_from_the_start() -> None:
    """What comes before the first mark goes at its tempo."""
    assert tick_map(((1.0, 60.0),), 4.0).tick(2.0) == 2 * TICKS_A_QUARTER


def test_a_tempo_slower_than_midi_can_say_keeps_its_seconds() -> None:
    """Half speed of a very slow piece still sounds at the right time."""
    ticks = tick_map(((0.0, 1.5),), 200.0)
    for second in (0.0, 39.7, 160.0, 199.0):
        assert abs(ticks.second(ticks.tick(second)) - second) <= 0.001


def test_an_empty_track_has_a_tempo_all_the_same() -> None:
    """Nothing to play is no reason to fail."""
    assert isinstance(tick_map(((0.0, 96.0),), 0.0), TickMap)
    assert tick_map(((0.0, 96.0),), 0.0).steps[0].us_a_quarter == 625_000
