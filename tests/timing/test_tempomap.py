"""The tempo map's laws: exact, reversible, without drift, and right where the tempo changes."""

import math
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError
from rhythmtrain.timing.tempomap import Stretch, TempoMap, steady, through

speeds = st.floats(0.2, 10, allow_nan=False)
lengths = st.fractions(Fraction(1, 12), 40, max_denominator=12)
places = st.fractions(-20, 200, max_denominator=48)


@st.composite
def maps(draw: st.DrawFn) -> TempoMap:
    """Draw a map of up to five stretches, steady, stepped or gradual."""
    at = draw(st.fractions(-8, 4, max_denominator=4))
    stretches = []
    for length in draw(st.lists(lengths, min_size=1, max_size=5)):
        first = draw(speeds)
        last = draw(st.one_of(st.just(first), speeds))
        stretches.append(Stretch(at, at + length, first, last))
        at += length
    return TempoMap(tuple(stretches))


@settings(deadline=None)
@given(maps())
def test_quarter_nought_is_second_nought(tempo: TempoMap) -> None:
    """Bar 1 begins at 0, wherever the map begins."""
    assert tempo.seconds(Fraction(0)) == pytest.approx(0, abs=1e-9)


@settings(deadline=None)
@given(maps(), places)
def test_half_speed_doubles_every_time(tempo: TempoMap, at: Fraction) -> None:
    """A track at half speed has every note at twice its second."""
    assert tempo.faster(0.5).seconds(at) == pytest.approx(2 * tempo.seconds(at), abs=1e-9)


@settings(deadline=None)
@given(maps(), places)
def test_seconds_and_quarters_undo_each_other(tempo: TempoMap, at: Fraction) -> None:
    """What is heard at a second is found at the place that was written there."""
    assert tempo.quarters(tempo.seconds(at)) == pytest.approx(float(at), rel=1e-9, abs=1e-7)


@settings(deadline=None)
@given(maps(), places, places)
def test_time_goes_forward(tempo: TempoMap, one: Fraction, other: Fraction) -> None:
    """A later place is never heard earlier."""
    if one < other:
        assert tempo.seconds(one) < tempo.seconds(other)


@settings(deadline=None, max_examples=40)
@given(maps(), places, places)
def test_times_agree_with_numerical_integration(
    tempo: TempoMap, one: Fraction, other: Fraction
) -> None:
    """Time is the sum of written time over speed: Simpson's rule on each piece between turns."""
    low, high = sorted((one, other))
    inner = {turn for part in tempo.stretches for turn in (part.start, part.stop)}
    turns = [low, *sorted(turn for turn in inner if low < turn < high), high]
    total = sum(_simpson(tempo, begin, end) for begin, end in pairwise(turns))
    assert tempo.seconds(high) - tempo.seconds(low) == pytest.approx(total, rel=1e-6, abs=1e-6)


def _simpson(tempo: TempoMap, begin: Fraction, end: Fraction) -> float:
    """Integrate 1/speed from inside the piece, so that a step at its ends does not count."""
    pieces = 400
    edge = (end - begin) / 10**9
    first, last = tempo.speed_at(begin + edge), tempo.speed_at(end - edge)
    step = float(end - begin) / pieces
    values = [1 / (first + (last - first) * index / pieces) for index in range(pieces + 1)]
    return step / 3 * (values[0] + values[-1] + 4 * sum(values[1:-1:2]) + 2 * sum(values[2:-1:2]))


def test_an_hour_of_beats_has_no_drift() -> None:
    """Beat 7 980 at 133 a minute lies at 3 600 s, not a few samples later."""
    tempo = steady(133)
    worst = max(
        abs(Fraction(tempo.seconds(Fraction(beat))) - Fraction(beat * 60, 133))
        for beat in range(7981)
    )
    assert worst < Fraction(1, 10**9)
    assert tempo.seconds(Fraction(7980)) == pytest.approx(3600, abs=1e-9)


def test_speeding_up_evenly_takes_the_time_the_formula_says() -> None:
    """From 60 to 120 over four quarters: 4·ln 2 seconds, and 120 from there on."""
    tempo = TempoMap((Stretch(Fraction(0), Fraction(4), 1.0, 2.0),))
    assert tempo.seconds(Fraction(4)) == pytest.approx(4 * math.log(2))
    assert tempo.seconds(Fraction(6)) == pytest.approx(4 * math.log(2) + 1)
    assert tempo.quarters(4 * math.log(2) + 1) == pytest.approx(6)
    assert [tempo.speed_at(Fraction(at)) for at in (-1, 0, 2, 4, 9)] == [1, 1, 1.5, 2, 2]
    assert float(tempo.seconds(Fraction(-1))) == -1
    assert tempo.quarters(-1) == -1


def test_a_map_goes_through_its_anchors() -> None:
    """Beats found in a recording lie where they were found, evenly filled between."""
    anchors = [(Fraction(0), 0.0), (Fraction(4), 2.5), (Fraction(6), 3.0)]
    tempo = through(anchors)
    for at, time in anchors:
        assert tempo.seconds(at) == pytest.approx(time)
    assert tempo.seconds(Fraction(2)) == pytest.approx(1.25)


@pytest.mark.parametrize(
    "anchors",
    [
        [(Fraction(0), 0.0), (Fraction(0), 1.0)],
        [(Fraction(0), 0.0), (Fraction(1), 0.0)],
        [(Fraction(0), 0.0), (Fraction(1), math.nan)],
    ],
)
def test_anchors_that_do_not_go_forward_are_refused(anchors: list[tuple[Fraction, float]]) -> None:
    """A beat map with a beat out of order says so."""
    with pytest.raises(RequestError, match="must go forward"):
        through(anchors)


def test_a_map_needs_a_tempo_throughout() -> None:
    """Nothing moves at tempo 0."""
    with pytest.raises(RequestError, match="at least one tempo"):
        TempoMap(())
    with pytest.raises(RequestError, match="more than 0"):
        TempoMap((Stretch(Fraction(0), Fraction(1), 1.0, 0.0),))
    with pytest.raises(RequestError, match="at least two anchors"):
        through([(Fraction(0), 0.0)])


@pytest.mark.parametrize("factor", [0.0, -1.0, math.nan, math.inf])
def test_a_speed_must_be_more_than_nothing(factor: float) -> None:
    """The message gives the value and what 1 means."""
    with pytest.raises(RequestError, match="speed must be more than 0"):
        steady(60).faster(factor)
