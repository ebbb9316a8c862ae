"""Echo practice, the layers of the rhythm itself, landmarks, and laws of every track."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.prompts.landmarks import landmark_texts
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.say import Say
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.score.passage import Bar, Kind, Passage, Place
from rhythmtrain.timing.timeline import Practice, Role, lay_out
from tests.simulate.passages import bar, passage, passages

TWO = (bar(1, 0, "1/2", metre="2/4"), bar(2, 0, metre="2/4"))


def texts(plan: Plan, layer: Layer) -> list[str]:
    """Return the texts of one layer in order."""
    return [each.text for each in plan.prompts if each.layer is layer]


def test_the_rhythm_sounds_in_the_bars_to_listen_to_and_not_in_the_answer() -> None:
    """Two bars heard, two bars given back to a click and the beats."""
    plan = plan_track(lay_out(passage(*TWO), Practice(echo=2)))
    claps = [float(each.time_s) for each in plan.prompts if each.layer is Layer.CLAP]
    clicks = [float(each.time_s) for each in plan.prompts if each.layer is Layer.CLICK]
    assert claps == [0, 0.5, 2]
    assert clicks == list(range(8))
    assert texts(plan, Layer.COUNT) == ["1", "&", "2", "1", "answer", "1", "2", "1", "2"]


def test_each_turn_is_announced_on_the_last_beat_before_it() -> None:
    """Bar by bar: your turn, listen, your turn."""
    plan = plan_track(lay_out(passage(*TWO), Practice(echo=1)), Wishes(say=Say.BEATS))
    assert texts(plan, Layer.COUNT) == ["1", "answer", "1", "listen", "1", "answer", "1", "2"]


def test_help_fades_in_the_answer_while_the_rhythm_stays_in_the_bars_to_listen_to() -> None:
    """One must always hear what is to be answered."""
    timeline = lay_out(passage(*TWO), Practice(echo=2, repeats=7))
    plan = plan_track(timeline, Wishes(fade=True))
    heard = [each.layer for each in plan.prompts if each.repeat == 6]
    assert heard == [Layer.CLAP] * 3


def test_a_turn_without_a_beat_in_it_cannot_announce_the_next() -> None:
    """The half beat that completes a bar has nowhere to say it; the counted bar leads instead."""
    piece = passage(bar(1, 0, ends="7/2"), bar(1, "7/2", begins="7/2"))
    plan = plan_track(lay_out(piece, Practice(echo=1)), Wishes(say=Say.BEATS))
    assert texts(plan, Layer.COUNT).count("answer") == 1


def test_counted_bars_between_turns_are_counted_whole() -> None:
    """A phrase with an upbeat is answered after a counted lead."""
    phrase = passage(bar(0, 3, begins=3), bar(1, 0))
    timeline = lay_out(phrase, Practice(echo=1))
    plan = plan_track(timeline)
    between = next(each for each in timeline.bars if each.role is Role.BETWEEN)
    start = timeline.track_seconds(between.start)
    stop = timeline.track_seconds(between.stop)
    said = [
        each.text
        for each in plan.prompts
        if each.layer is Layer.COUNT and start <= each.time_s < stop
    ]
    assert said == ["1", "2", "3"]


def test_the_tune_sounds_where_there_are_pitches_as_long_as_written() -> None:
    """A note of a beat and a half at 60 lasts a second and a half; an accent is kept."""
    places = (
        Place(Fraction(0), Kind.PLAYED, accent=True, pitches=(67,)),
        Place(Fraction(3, 2), Kind.PLAYED),
    )
    piece = passage(replace(bar(1, metre="2/4"), places=places))
    plan = plan_track(lay_out(piece), Wishes(frozenset({Layer.TUNE, Layer.CLAP})))
    tune = [each for each in plan.prompts if each.layer is Layer.TUNE]
    claps = [each for each in plan.prompts if each.layer is Layer.CLAP]
    assert [(each.pitches, each.length_s, each.accent) for each in tune] == [((67,), 1.5, True)]
    assert [(each.length_s, each.accent) for each in claps] == [(0, True), (0, False)]


def landmarked(*words: str, last: Bar | None = None, **mark: object) -> Passage:
    """Return four bars of 4/4 with landmarks at bar 3."""
    third = replace(bar(3, 0), landmarks=words, **mark)  # type: ignore[arg-type]
    return passage(bar(1, 0), bar(2, 0), third, last or bar(4, 0))


def test_a_landmark_is_said_once_beforehand() -> None:
    """In the first run only, ending before the bar it stands at."""
    timeline = lay_out(landmarked("piano has the tune"), Practice(repeats=2))
    plan = plan_track(timeline, Wishes(landmarks=True))
    said = [
        (float(each.time_s), each.bar) for each in plan.prompts if each.text == "piano has the tune"
    ]
    assert said == [(6, 2)]
    second = [each.text for each in plan.prompts if each.layer is Layer.COUNT and each.bar == 2]
    assert second[:3] == ["1", "2", "piano has the tune"]


def test_landmarks_are_silent_unless_asked_for() -> None:
    """They stand on paper; who wants them spoken says so."""
    plan = plan_track(lay_out(landmarked("letter B")))
    assert "letter B" not in texts(plan, Layer.COUNT)
    assert (8.0, "letter B") in plan.markers


def test_a_landmark_for_which_the_voice_has_no_words_is_left_out() -> None:
    """The count goes on in its place; the words still stand in the markers."""
    timeline = lay_out(landmarked("piano has the tune", "letter B"))
    assert landmark_texts(timeline.passage) == {"piano has the tune", "letter B"}
    plan = plan_track(timeline, Wishes(landmarks=True, unspoken=frozenset({"piano has the tune"})))
    assert texts(plan, Layer.COUNT)[4:8] == ["1", "2", "3", "letter B"]


def test_a_second_time_is_announced_like_a_landmark() -> None:
    """Who comes to the second time is told before."""
    plan = plan_track(lay_out(landmarked(ending=2)), Wishes(landmarks=True))
    assert "second time" in texts(plan, Layer.COUNT)


def test_a_landmark_gives_way_to_an_entry() -> None:
    """Where words would cover the entry on every beat before, they are left out."""
    rest = passage(
        bar(1), replace(bar(2, 0), landmarks=("one two three four five six seven eight nine",))
    )
    plan = plan_track(lay_out(rest), Wishes(landmarks=True))
    assert texts(plan, Layer.COUNT) == ["1", "2", "3", "ready", "2", "3", "4"]


def test_a_landmark_at_the_beginning_is_said_in_the_count_in() -> None:
    """Two words before a bar of four fit on its last beats."""
    first = passage(replace(bar(1, 0), landmarks=("letter A",)))
    plan = plan_track(lay_out(first, Practice(count_in=1)), Wishes(landmarks=True))
    assert texts(plan, Layer.COUNT)[:4] == ["1", "2", "3", "letter A"]


@given(drawn=passages(), echo=st.sampled_from((0, 2)), repeats=st.integers(1, 4))
@settings(max_examples=60, deadline=None)
def test_everything_lies_inside_the_track_in_order(drawn: Passage, echo: int, repeats: int) -> None:
    """Nothing is lost before its first or after its last sample."""
    practice = Practice(repeats=repeats, echo=echo, count_in=1)
    plan = plan_track(lay_out(drawn, practice), Wishes(frozenset(Layer), fade=True))
    times = [each.time_s for each in plan.prompts]
    assert times == sorted(times)
    assert all(0 <= time < plan.duration_s for time in times)
    assert all(each.time_s + each.length_s <= plan.duration_s + 1e-9 for each in plan.prompts)


@given(drawn=passages(), speed=st.floats(0.3, 2))
@settings(max_examples=60, deadline=None)
def test_half_speed_doubles_every_time(drawn: Passage, speed: float) -> None:
    """Slower is the same rhythm on a longer rule; only what is left out for room may differ."""
    wishes = Wishes(frozenset({Layer.CLAP, Layer.CLICK}), subdivide=2)
    fast = plan_track(lay_out(drawn, Practice(speed=speed, count_in=1)), wishes)
    slow = plan_track(lay_out(drawn, Practice(speed=speed / 2, count_in=1)), wishes)
    assert [each.time_s for each in slow.prompts] == pytest.approx(
        [2 * each.time_s for each in fast.prompts]
    )
    assert slow.duration_s == pytest.approx(2 * fast.duration_s)


@given(drawn=passages())
@settings(max_examples=60, deadline=None)
def test_whatever_is_said_at_speed_is_said_at_half_speed_too(drawn: Passage) -> None:
    """Practising slower never takes a word away."""
    wishes = Wishes(frozenset({Layer.COUNT}), prepare=False)
    fast = plan_track(lay_out(drawn, Practice(count_in=1)), wishes)
    slow = plan_track(lay_out(drawn, Practice(speed=0.5, count_in=1)), wishes)
    place = {(round(each.time_s, 6), each.text) for each in slow.prompts}
    assert {(round(2 * each.time_s, 6), each.text) for each in fast.prompts} <= place
