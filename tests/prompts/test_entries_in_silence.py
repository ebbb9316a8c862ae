"""Before and on an entry: "ready", then no word until the player is in."""

from dataclasses import replace
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.prompts.fading import HelpStep
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.say import Say
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.score.passage import EntryMark, Passage
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.passages import bar, passage, passages

REST = bar(1, metre="2/4")


def around(entry_at: str, tempo: float, **mark: object) -> list[tuple[str, str]]:
    """Return (count, word) in bars 2 and 3 of 2/4, with an entry ``entry_at`` into bar 3."""
    piece = passage(REST, bar(2, metre="2/4"), bar(3, entry_at, metre="2/4"), tempo=tempo)
    if mark:
        count = {"0": "1", "1/2": "1&", "1": "2", "3/2": "2&"}[entry_at]
        piece = replace(piece, marks=(EntryMark(3, count, **mark),))  # type: ignore[arg-type]
    plan = plan_track(lay_out(piece))
    heard = [prompt for prompt in plan.prompts if prompt.layer is Layer.COUNT]
    return [(f"{each.bar}:{each.count}", each.text) for each in heard if each.bar > 1]


def test_ready_replaces_the_count_a_beat_ahead_and_the_entry_is_left_free() -> None:
    """The player hears "ready", and then only themselves."""
    assert around("0", 60) == [("2:1", "2"), ("2:2", "ready"), ("3:2", "2")]


def test_an_off_beat_entry_is_prepared_a_beat_ahead_and_keeps_its_beat() -> None:
    """The beat before an off-beat entry is what one pushes off from: it stays where it has room."""
    assert around("3/2", 60)[2:] == [("3:1", "1"), ("3:1&", "ready"), ("3:2", "2")]


def test_the_beat_just_before_an_off_beat_entry_is_left_out_where_it_would_run_into_it() -> None:
    """At 132 the "2" would still be sounding on the and of 2."""
    assert around("3/2", 132)[2:] == [("3:1&", "ready")]


def test_the_word_and_its_distance_are_the_drill_s() -> None:
    """A string player wants "bow" two beats ahead."""
    heard = around("0", 60, prepare=Fraction(2), word="bow")
    assert heard == [("2:1", "bow"), ("2:2", "2"), ("3:2", "2")]


def test_a_word_of_preparation_that_would_run_into_the_entry_is_said_earlier() -> None:
    """At 280 one beat is too short for "ready", so it comes two beats ahead."""
    assert ("2:1", "ready") in around("0", 280)


def test_what_falls_before_the_track_is_not_said() -> None:
    """Nobody can be warned before the track begins."""
    piece = passage(bar(1, "1", silent=(0,), metre="2/4"))
    piece = replace(piece, marks=(EntryMark(1, "2", Fraction(3)),))
    texts = [each.text for each in plan_track(lay_out(piece)).prompts if each.layer is Layer.COUNT]
    assert texts == ["1"]


def test_an_entry_before_the_first_beat_of_the_track_has_no_preparation() -> None:
    """An upbeat inside a beat, without count-in: there is no beat to warn on."""
    piece = passage(bar(0, "7/2", begins="7/2"), bar(1, 0))
    piece = replace(piece, marks=(EntryMark(0, "4&"),))
    plan = plan_track(lay_out(piece))
    texts = [each.text for each in plan.prompts if each.layer is Layer.COUNT]
    assert texts == ["1", "2", "3", "4"]


def test_preparation_can_be_left_away() -> None:
    """Who counts alone gets the plain count, still not on the entry."""
    piece = passage(REST, bar(2, 0, metre="2/4"))
    plan = plan_track(lay_out(piece), Wishes(prepare=False))
    texts = [each.text for each in plan.prompts if each.layer is Layer.COUNT]
    assert texts == ["1", "2", "2"]


def test_preparation_may_be_the_last_help_to_go() -> None:
    """A table for entries can drop the count and keep "ready"."""
    last = (HelpStep("ready alone", frozenset(), prepares=True),)
    piece = passage(REST, bar(2, 0, metre="2/4"))
    plan = plan_track(lay_out(piece), Wishes(steps=last))
    assert [each.text for each in plan.prompts] == ["ready"]


def test_in_echo_practice_the_entry_is_left_free_when_heard_and_when_answered() -> None:
    """One hears what coming in alone sounds like, then does it."""
    piece = passage(REST, bar(2, 0, metre="2/4"))
    plan = plan_track(lay_out(piece, Practice(echo=2)))
    texts = [each.text for each in plan.prompts if each.layer is Layer.COUNT]
    assert texts == ["1", "ready", "answer", "1", "ready", "2"]
    assert plan.entries_s == (2, 6)


@given(
    drawn=passages(),
    say=st.sampled_from(Say),
    ahead=st.sampled_from((Fraction(1, 2), Fraction(1), Fraction(3))),
    echo=st.sampled_from((0, 1)),
)
@settings(max_examples=150, deadline=None)
def test_no_word_ever_sounds_on_an_entry(
    drawn: Passage, say: Say, ahead: Fraction, echo: int
) -> None:
    """None from a quarter of a second before it, so that none overlaps it, to a tenth after."""
    found = lay_out(drawn).entries
    marks = tuple(EntryMark(each.entry.bar, each.entry.count, ahead) for each in found)
    practice = Practice(repeats=2, count_in=1, echo=echo)
    plan = plan_track(lay_out(replace(drawn, marks=marks), practice), Wishes(say=say))
    times = [prompt.time_s for prompt in plan.prompts if prompt.layer is Layer.COUNT]
    for entry in plan.entries_s:
        assert not [time for time in times if entry - 0.2499 < time < entry + 0.0999]
