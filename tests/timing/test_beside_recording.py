"""A timeline laid on a recording: every place at the accompanist's second."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat
from rhythmtrain.timing.beside_recording import laid_bars, on_recording
from rhythmtrain.timing.recorded_bars import map_passage
from rhythmtrain.timing.timeline import Practice, Role, Timeline, lay_out
from tests.simulate.passages import bar, passage

STEPS = st.lists(st.floats(0.3, 1.2), min_size=13, max_size=13)
FOUR = passage(bar(1, 0, 2), bar(2), bar(3, 1), bar(4, 0), tempo=90)


def mapped_beats(steps: list[float], *, first_bar: int = 1, unsure: float | None = None) -> BeatMap:
    """Return a map of beats, four a bar, ``steps`` seconds apart, from second 2 on."""
    times = [2.0]
    for step in steps:
        times.append(times[-1] + step)
    return BeatMap(
        tuple(
            MappedBeat(time, first_bar + number // 4, 1 + number % 4, unsure)
            for number, time in enumerate(times)
        )
    )


def laid(score: Passage, beats: BeatMap, practice: Practice | None = None) -> Timeline:
    """Return ``score`` laid out and put on ``beats``."""
    return on_recording(lay_out(score, practice or Practice()), map_passage(score, beats))


@given(STEPS, st.floats(0.4, 1.3))
def test_every_beat_falls_at_its_mapped_second_at_any_speed(
    steps: list[float], speed: float
) -> None:
    """The player followed the recording, and the recording slowed down all alike."""
    beats = mapped_beats(steps)
    timeline = laid(FOUR, beats, Practice(speed=speed))
    for number, beat in enumerate(beats.beats):
        at = float(timeline.seconds(Fraction(number)))
        assert at == pytest.approx((beat.time_s - 2.0) / speed, abs=1e-9)


def test_what_the_recording_plays_before_the_bars_wanted_keeps_its_own_time() -> None:
    """Whoever comes in a bar early is held against that bar."""
    beats = mapped_beats([1.0] * 4 + [0.5] * 15)
    whole = passage(bar(1), bar(2, 0), bar(3, 0), bar(4, 0), tempo=60)
    part = passage(bar(2, 0), bar(3, 0), bar(4, 0), tempo=60)
    timeline = on_recording(lay_out(part), map_passage(part, beats, whole=whole))
    assert timeline.seconds(Fraction(-4)) == pytest.approx(-4.0)
    assert timeline.seconds(Fraction(4)) == pytest.approx(2.0)


def test_a_repeat_that_the_recording_does_not_play_goes_back_in_it() -> None:
    """The track is cut there: the second time has the seconds of the first."""
    beats = mapped_beats([0.5, 0.6, 0.7, 0.8] * 2)
    score = passage(bar(1, 0), bar(2, 0), tempo=60)
    timeline = laid(score, beats, Practice(repeats=2))
    once = timeline.seconds(Fraction(8))
    assert once == pytest.approx(5.2)
    for at in range(9):
        second = timeline.seconds(Fraction(8 + at)) - once
        assert second == pytest.approx(timeline.seconds(Fraction(at)))


def test_counted_bars_before_it_have_the_opening_tempo() -> None:
    """A count-in leads to the first bar, so it is counted as fast as that begins."""
    timeline = laid(FOUR, mapped_beats([0.7] * 2 + [0.5] * 11), Practice(count_in=1))
    assert timeline.seconds(Fraction(-4)) == pytest.approx(-2.8)
    assert timeline.seconds(Fraction(2)) == pytest.approx(1.4)


def test_doubt_grows_as_the_time_does() -> None:
    """At half speed a beat is known half as well in seconds, and as well in beats."""
    beats = mapped_beats([0.5] * 15, unsure=0.02)
    assert laid(FOUR, beats).uncertainty_s(Fraction(3)) == pytest.approx(0.02)
    assert laid(FOUR, beats, Practice(speed=0.5)).uncertainty_s(Fraction(7, 2)) == pytest.approx(
        0.04
    )
    assert lay_out(FOUR).uncertainty_s(Fraction(3)) == 0


def test_between_two_beats_the_less_certain_one_counts() -> None:
    """A place is no better known than the beats that it lies between."""
    beats = mapped_beats([0.5] * 15)
    doubtful = BeatMap(
        tuple(
            MappedBeat(beat.time_s, beat.bar, beat.beat, 0.08 if beat.bar == 2 else 0.01)
            for beat in beats.beats
        )
    )
    timeline = laid(FOUR, doubtful)
    assert timeline.uncertainty_s(Fraction(3)) == 0.01
    assert timeline.uncertainty_s(Fraction(7, 2)) == 0.08


@given(STEPS, st.integers(1, 4), st.floats(0.4, 1.3))
def test_an_answer_has_the_seconds_of_what_was_heard(
    steps: list[float], echo: int, speed: float
) -> None:
    """One answers over the very bars one heard: as slow where the pianist was slow."""
    timeline = laid(FOUR, mapped_beats([*steps, 0.5, 0.5]), Practice(echo=echo, speed=speed))
    heard = [bar for bar in timeline.bars if bar.role is Role.LISTEN]
    answered = [bar for bar in timeline.bars if bar.role is Role.ANSWER]
    assert [bar.index for bar in heard] == [bar.index for bar in answered] == [0, 1, 2, 3]
    for listen, answer in zip(heard, answered, strict=True):
        for at in range(5):
            after_s = timeline.seconds(listen.start + at) - timeline.seconds(listen.start)
            again_s = timeline.seconds(answer.start + at) - timeline.seconds(answer.start)
            assert again_s == pytest.approx(after_s, abs=1e-9)


def test_from_an_answer_into_the_next_bars_the_recording_goes_on() -> None:
    """It goes back for the answer, and nowhere else."""
    mapped = map_passage(FOUR, mapped_beats([0.5] * 15))
    timeline = on_recording(lay_out(FOUR, Practice(echo=2)), mapped)
    stretches = list(laid_bars(timeline, mapped))
    assert [int(each.stop) for each in stretches] == [8, 24, 32]
    assert [each.later for each in stretches] == list(map(Fraction, (0, 8, 16)))


def test_before_an_answer_with_an_upbeat_the_beats_before_it_sound() -> None:
    """The recording leads in to the answer as it led in to what was heard."""
    score = passage(bar(0, 3, begins=3), bar(1, 0), bar(2, 0), tempo=60)
    introduction = mapped_beats([1.0] * 4 + [0.5] * 11, first_bar=0)
    mapped = map_passage(score, introduction)
    timeline = on_recording(lay_out(score, Practice(echo=2)), mapped)
    counted = next(each for each in timeline.bars if each.role is Role.BETWEEN)
    assert (int(counted.start), int(counted.stop)) == (8, 11)
    first, again = laid_bars(timeline, mapped)
    assert [first.later, again.start, again.later] == list(map(Fraction, (0, 8, 12)))
    assert timeline.seconds(Fraction(11)) - timeline.seconds(Fraction(8)) == pytest.approx(3.0)


def test_the_recording_s_own_bars_lead_in_where_it_has_some() -> None:
    """The count-in goes as the introduction does; before that, as the introduction begins."""
    beats = mapped_beats([1.0] * 4 + [0.5] * 15)
    part = passage(bar(2, 0), bar(3, 0), bar(4, 0), tempo=60)
    whole = passage(bar(1), bar(2, 0), bar(3, 0), bar(4, 0), tempo=60)
    mapped = map_passage(part, beats, whole=whole)
    timeline = on_recording(lay_out(part, Practice(count_in=2)), mapped)
    laid_out = list(laid_bars(timeline, mapped))
    assert [each.later for each in laid_out] == [None, Fraction(0)]
    assert timeline.seconds(Fraction(-4)) == pytest.approx(-4.0)
    assert timeline.seconds(Fraction(-8)) == pytest.approx(-8.0)
