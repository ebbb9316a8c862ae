"""The line from the computer's clock to track time."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.capture.clock import ClockLine, ClockModel
from rhythmtrain.errors import TakeError

RATE, BLOCK, BEGIN_S = 48_000, 256, 1000.0


def laid(
    seconds: float, *, ppm: float = 0.0, late_s: float = 0.0, strays: float = 0.0, seed: int = 0
) -> ClockModel:
    """Return the model of a stream whose stamps are late by ``late_s`` (mean), strays by 9 ms."""
    random = np.random.default_rng(seed)
    frames = np.arange(0, round(seconds * RATE), BLOCK)
    times = BEGIN_S + frames / RATE / (1 + ppm * 1e-6) + random.exponential(late_s, len(frames))
    times += 0.009 * (random.random(len(frames)) < strays)
    line = ClockLine(RATE)
    for frame, time_s in zip(frames.tolist(), times.tolist(), strict=True):
        line.add(frame, time_s)
    return line.model()


def worst_s(model: ClockModel, seconds: float, ppm: float) -> float:
    """Return how far the model is from the truth, at worst, within the take."""
    true_s = [seconds * part / 50 for part in range(51)]
    return max(abs(model.track_seconds(BEGIN_S + at / (1 + ppm * 1e-6)) - at) for at in true_s)


@settings(max_examples=20, deadline=None)
@given(
    seconds=st.floats(4, 40),
    ppm=st.floats(-300, 300),
    late_s=st.floats(0, 0.001),
    seed=st.integers(0, 999),
)
def test_late_stamps_and_strays_move_no_tap_by_a_quarter_of_a_millisecond(
    seconds: float, ppm: float, late_s: float, seed: int
) -> None:
    """A busy computer must not make an honest player late."""
    model = laid(seconds, ppm=ppm, late_s=late_s, strays=0.02, seed=seed)
    assert worst_s(model, seconds, ppm) < 0.00025


def test_the_error_it_states_is_about_the_error_it_makes() -> None:
    """What is said of uncertainty in the report is true, in nineteen takes of twenty."""
    honest = 0
    for seed in range(40):
        model = laid(20, ppm=80, late_s=0.001, strays=0.01, seed=seed)
        honest += abs(model.track_seconds(BEGIN_S + 10 / (1 + 80e-6)) - 10) <= 2 * model.error_s
    assert honest >= 38


def test_the_quartz_is_found_in_a_long_take_and_not_guessed_in_a_short_one() -> None:
    """Two seconds of late stamps would give any drift; the nominal rate is nearer."""
    assert laid(120, ppm=200, late_s=0.001).drift_ppm == pytest.approx(200, abs=5)
    assert abs(laid(2, late_s=0.002, seed=3).drift_ppm) < 60


def test_stamps_that_come_early_while_the_first_buffers_fill_are_left_out() -> None:
    """A driver asks for its first buffers at once, before they are heard."""
    line = ClockLine(RATE)
    for number in range(4000):
        early = 0.03 if number < 12 else 0.0
        line.add(number * BLOCK, BEGIN_S + number * BLOCK / RATE - early)
    assert line.model().track_seconds(BEGIN_S + 5) == pytest.approx(5, abs=1e-4)


@given(at=st.floats(0, 30), ppm=st.floats(-300, 300))
def test_there_and_back_is_the_same_time(at: float, ppm: float) -> None:
    """Cues are put on the computer's clock by the same line."""
    model = _noiseless(round(ppm))
    assert model.track_seconds(model.clock_seconds(at)) == pytest.approx(at, abs=1e-9)


_KEPT: dict[int, ClockModel] = {}


def _noiseless(ppm: int) -> ClockModel:
    return _KEPT.setdefault(ppm, laid(5, ppm=ppm))


def test_after_lost_sound_the_line_begins_anew() -> None:
    """A skipped turn of 20 ms must not make all that follows 20 ms late."""
    line = ClockLine(RATE)
    for number in range(2000):
        if number == 1000:
            line.lost(number * BLOCK)
        lost_s = 0.02 if number >= 1000 else 0.0
        line.add(number * BLOCK, BEGIN_S + number * BLOCK / RATE + lost_s)
    model = line.model()
    jump_s = 1000 * BLOCK / RATE
    assert model.track_seconds(BEGIN_S + 2) == pytest.approx(2, abs=1e-4)
    assert model.track_seconds(BEGIN_S + 8.02) == pytest.approx(8, abs=1e-4)
    assert model.track_seconds(BEGIN_S + jump_s + 0.01) == pytest.approx(jump_s, abs=1e-4)
    assert model.clock_seconds(8.0) == pytest.approx(BEGIN_S + 8.02, abs=1e-4)


def test_an_hour_of_stamps_is_kept_as_its_points() -> None:
    """Memory stays small however long one practises: one point for every 48 stamps."""
    line = ClockLine(RATE)
    for number in range(48 * 500):
        line.add(number * BLOCK, number * BLOCK / RATE)
    assert len(line._points) == 500  # noqa: SLF001  (what is kept is the claim)


def test_without_stamps_there_is_no_clock() -> None:
    """One sentence instead of a division by nothing."""
    line = ClockLine(RATE)
    with pytest.raises(TakeError, match="its clock could be read"):
        line.model()
    line.add(0, 1.0)
    with pytest.raises(TakeError, match="its clock could be read"):
        line.model()


def test_two_stamps_alone_say_how_little_they_know() -> None:
    """A take stopped at once is placed, with the spread of its stamps as its error."""
    line = ClockLine(RATE)
    line.add(0, 1.0)
    line.add(4800, 1.104)
    assert line.model().error_s == pytest.approx(0.004)
