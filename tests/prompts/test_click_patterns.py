"""The click: downbeat, beats, groups, and what is added between."""

import pytest

from rhythmtrain.prompts.clicks import pattern
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.score.metre import Metre
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.passages import bar, passage

SHORT = {"downbeat": "D", "beat": "b", "between": "."}


def clicked(metre: Metre, tempo: float, subdivide: int | None = None) -> str:
    """Return the clicks of one bar: D for the downbeat, b for a beat, a dot between."""
    timeline = lay_out(passage(bar(1, metre=metre), tempo=tempo))
    plan = plan_track(timeline, Wishes(frozenset({Layer.CLICK}), subdivide=subdivide))
    return "".join(SHORT[prompt.text] for prompt in plan.prompts)


@pytest.mark.parametrize(
    ("metre", "beat", "clicks"),
    [
        ("4/4", None, "Dbbb"),
        ("6/8", None, "Db"),
        ("6/8", "eighth", "Dbbbbb"),
        ("3+2/8", None, "D..b."),
        ("2+2+3/8", None, "D.b.b.."),
        ("3+2/8", "group", "Db"),
        ("1/4", None, "D"),
    ],
)
def test_the_downbeat_and_the_groups_stand_out(metre: str, beat: str | None, clicks: str) -> None:
    """Six-eight is clicked in two; unequal groups are heard as groups."""
    assert clicked(Metre.parse(metre, beat=beat), 100) == clicks


def test_group_clicks_fall_where_the_groups_begin() -> None:
    """3+2 eighths: on 1 and on 4."""
    heads = [into for into, text in pattern(Metre.parse("3+2/8"), 1) if text != "between"]
    assert heads == [0, 1.5]


def test_inner_clicks_closer_than_a_fifth_of_a_second_are_left_out() -> None:
    """Subdividing clicks that close hinder more than they help (Repp 2003)."""
    assert clicked(Metre.parse("3+2/8"), 300) == "D..b."
    assert clicked(Metre.parse("3+2/8"), 301) == "Db"


@pytest.mark.parametrize(
    ("metre", "beat", "parts", "clicks"),
    [
        ("2/4", None, 2, "D.b."),
        ("2/4", None, 3, "D..b.."),
        ("6/8", None, 3, "D..b.."),
        ("2/4", None, 1, "Db"),
        ("3+2/8", "group", 2, "D..b."),
        ("3+2/8", None, 2, "D.....b..."),
    ],
)
def test_asked_for_subdivisions_are_clicked(
    metre: str, beat: str | None, parts: int, clicks: str
) -> None:
    """Unequal beats divide into the metre's lower number, whatever the number asked for."""
    assert clicked(Metre.parse(metre, beat=beat), 100, parts) == clicks


def test_asked_for_subdivisions_sound_however_close() -> None:
    """Who asks for sixteenths at 120 gets them."""
    assert clicked(Metre.parse("2/4"), 120, 4) == "D...b..."


def test_subdivisions_are_evenly_spaced() -> None:
    """Triplets lie on thirds of the beat, exactly."""
    timeline = lay_out(passage(bar(1, metre="2/4")))
    plan = plan_track(timeline, Wishes(frozenset({Layer.CLICK}), subdivide=3))
    assert [each.time_s for each in plan.prompts] == pytest.approx([n / 3 for n in range(6)])


def test_an_upbeat_is_clicked_from_its_own_beat_on() -> None:
    """The click of an upbeat on 4 is a beat, not a downbeat."""
    timeline = lay_out(passage(bar(0, 3, begins=3), bar(1, 0)), Practice())
    plan = plan_track(timeline, Wishes(frozenset({Layer.CLICK})))
    assert [each.text for each in plan.prompts] == ["beat", "downbeat", "beat", "beat", "beat"]
    assert [each.count for each in plan.prompts] == ["4", "1", "2", "3", "4"]
