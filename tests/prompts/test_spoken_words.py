"""What is said, and where: beats, played counts, crowded counts, other systems, long rests."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.say import Say
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.score.passage import Bar, Passage
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.passages import bar, passage, passages


def words(plan: Plan) -> list[str]:
    """Return the words of the count in order."""
    return [prompt.text for prompt in plan.prompts if prompt.layer is Layer.COUNT]


def said(*bars: Bar, tempo: float = 60, speed: float = 1, **wishes: object) -> str:
    """Return what is said over ``bars``, in one line."""
    asked = Wishes(**wishes)  # type: ignore[arg-type]
    return " ".join(words(plan_track(lay_out(passage(*bars, tempo=tempo), Practice(speed)), asked)))


def rests(count: int, metre: str = "4/4") -> tuple[Bar, ...]:
    """Return ``count`` bars of rest."""
    return tuple(bar(number + 1, metre=metre) for number in range(count))


SYNCOPATED = bar(1, 0, "1/4", "3/4", held=("1/2", 1, "3/2"), silent=(2,), metre="4/4")


@pytest.mark.parametrize(
    ("metre", "line"),
    [
        ("4/4", "1 2 3 4 2 2 3 4 3 2 3 4"),
        ("3/4", "1 2 3 2 2 3 3 2 3"),
        ("6/8", "1 2 2 2 3 2"),
    ],
)
def test_in_a_long_rest_the_bar_number_replaces_its_one(metre: str, line: str) -> None:
    """So a player knows in which bar of the rest they are (eLessons, "Multiple measure rests")."""
    assert said(*rests(3, metre)) == line


def test_the_rest_is_counted_in_beats_alone_when_asked() -> None:
    """Without rest counting every bar begins with one."""
    assert said(*rests(2), count_rests=False) == "1 2 3 4 1 2 3 4"


def test_one_bar_of_rest_is_no_long_rest() -> None:
    """A single bar needs no number: two of them do."""
    assert said(bar(1, 0), bar(2), bar(3, 0)).split()[4] == "1"


def test_the_nearly_empty_bar_before_a_rest_is_not_counted_with_it() -> None:
    """Counting it is a common slip that brings the player in a bar early."""
    line = said(bar(1, 0, silent=(1,)), *(bar(number, metre="4/4") for number in (2, 3)))
    assert line == "1 2 3 4 1 2 3 4 2 2 3 4"


def test_a_note_held_into_the_rest_is_not_counted_with_it() -> None:
    """The rest begins where the sound ends."""
    held = bar(2, silent=(2,), held=(0,))
    assert said(bar(1, 0), held, bar(3), bar(4)) == "1 2 3 4 1 2 3 4 1 2 3 4 2 2 3 4"


def test_numbers_begin_again_after_a_hundred_bars() -> None:
    """The voice knows numbers to a hundred; players count longer rests in hundreds."""
    line = said(*rests(102), say=Say.BEATS).split()[::4]
    assert line[98:] == ["99", "100", "1", "2"]


@pytest.mark.parametrize(
    ("tempo", "bar_12", "bar_21"),
    [(100, "12 2 3 4", "21 2 3 4"), (120, "12 2 3 4", "21 3 4"), (250, "12", "21")],
)
def test_a_long_number_is_not_cut_by_the_next_beat(tempo: float, bar_12: str, bar_21: str) -> None:
    """Who cannot make out "twenty-one" has lost the count."""
    plan = plan_track(lay_out(passage(*rests(22), tempo=tempo)))
    heard: dict[int, list[str]] = {}
    for each in plan.prompts:
        if each.layer is Layer.COUNT:
            heard.setdefault(each.bar, []).append(each.text)
    assert (" ".join(heard[12]), " ".join(heard[21])) == (bar_12, bar_21)


def test_each_run_counts_its_rest_afresh() -> None:
    """A rest at the end is not continued by the rest at the beginning of the next run."""
    plan = plan_track(lay_out(passage(*rests(2, "2/4")), Practice(repeats=2)))
    assert words(plan) == ["1", "2", "2", "2"] * 2


@pytest.mark.parametrize(
    ("say", "line"),
    [
        (Say.BEATS, "1 2 3 4"),
        (Say.PLAYED, "1 e a 2 3 4"),
        (Say.ALL, "1 e & a 2 & 3 4"),
    ],
)
def test_say_tells_which_counts_are_spoken(say: Say, line: str) -> None:
    """Beats alone, what is played, or every counted place, silent and held ones too."""
    assert said(SYNCOPATED, tempo=40, say=say) == line


def test_crowded_counts_are_thinned_to_the_beats_and_come_back_at_half_speed() -> None:
    """Sixteenths at 72 cannot be spoken clearly; at 36 they can."""
    assert said(SYNCOPATED, tempo=72) == "1 2 3 4"
    assert said(SYNCOPATED, tempo=72, speed=0.5) == "1 e a 2 3 4"


def test_counts_exactly_a_quarter_of_a_second_apart_are_said() -> None:
    """The limit itself is room enough."""
    assert said(bar(1, 0, "1/2"), tempo=120) == "1 & 2 3 4"
    assert said(bar(1, 0, "1/2"), tempo=121) == "1 2 3 4"


@pytest.mark.parametrize(
    ("metre", "tempo", "line"),
    [
        ("3+2/8", 160, "1 2 3 4 5"),
        ("3+2/8", 300, "1 4"),
        ("4/4", 300, "1"),
        ("3+2/8", 600, "1"),
        ("2/4", 600, ""),
    ],
)
def test_crowded_beats_are_thinned_to_groups_and_then_to_the_bar(
    metre: str, tempo: float, line: str
) -> None:
    """What is left is still where one would beat time."""
    assert said(bar(1, metre=metre), tempo=tempo) == line


def test_nothing_is_said_between_beats_that_are_not_said_themselves() -> None:
    """An "and" without its number would mislead."""
    assert said(bar(1, 0, "5/2"), tempo=300) == "1"


def test_a_compound_beat_is_said_la_li_with_ta_between() -> None:
    """The sixteenths after each eighth of a dotted beat are all "ta"."""
    sixteenths = bar(1, *(f"{place}/4" for place in range(6)), metre="6/8")
    assert said(sixteenths, tempo=30) == "1 ta la ta li ta 2"


def test_a_fifth_of_a_beat_has_no_word() -> None:
    """Nothing is better than a wrong syllable."""
    assert said(bar(1, 0, "1/5", metre="2/4"), tempo=30) == "1 2"


def test_takadimi_keeps_numbers_for_counting_in_and_for_rests() -> None:
    """Bars are counted in numbers in every system; places by their syllables."""
    two = passage(bar(1, 0, "1/2", metre="2/4"), *rests(2, "2/4"))
    plan = plan_track(lay_out(two, Practice(count_in=1)), Wishes(counting="takadimi"))
    places = ["takadimi:ta", "takadimi:di", "takadimi:ta"]
    assert words(plan) == ["1", "2", *places, "1", "2", "2", "2"]


def test_ta_titi_is_said_by_duration_and_only_on_notes() -> None:
    """An eighth, a quarter, an eighth: ti ta ti."""
    figure = bar(1, 0, "1/2", "3/2", held=(1,), silent=(2,), metre="4/4")
    assert said(figure, counting="ta-titi") == "ta-titi:ti ta-titi:ta ta-titi:ti"


@given(drawn=passages(), say=st.sampled_from(Say), speed=st.sampled_from((0.4, 1, 1.7)))
@settings(max_examples=80, deadline=None)
def test_no_two_words_are_closer_than_a_quarter_of_a_second(
    drawn: Passage, say: Say, speed: float
) -> None:
    """Whatever is asked, what is said can be understood."""
    practice = Practice(speed=speed, repeats=2, count_in=1)
    plan = plan_track(lay_out(drawn, practice), Wishes(say=say))
    times = [prompt.time_s for prompt in plan.prompts if prompt.layer is Layer.COUNT]
    gaps = [after - before for before, after in pairwise(times)]
    assert all(gap >= 0.25 - 1e-5 for gap in gaps)
