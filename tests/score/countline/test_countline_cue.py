"""The accompanist's rhythm beside the player's."""

import pytest

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.countline.cue import read_cue
from rhythmtrain.score.countline.writer import write_cue
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import notes_of

TWO = Metre.parse("2/4")


def test_the_cue_takes_bars_numbers_and_repeats_from_the_rhythm() -> None:
    """Cue and tune never fall out of step."""
    rhythm = read_bars("2 | rest 2 | metre 3/4 1 2 :| x3", TWO)
    cue = read_cue("rest 1 | 1 & 2 | rest 1 | 1 2", rhythm).bars
    assert [bar.number for bar in cue] == [0, 1, 2, 3]
    assert [bar.length for bar in cue] == [1, 2, 2, 2]
    assert cue[-1].times == 3
    assert [(note.bar, note.count) for note in notes_of(cue)][:3] == [(1, "1"), (1, "1&"), (1, "2")]


def test_the_cue_may_repeat_the_signs_of_the_rhythm() -> None:
    """People copy the bar lines so that the lines stand below each other."""
    rhythm = read_bars("|: 1 2 | first time 1 2 :| second time metre 3/4 1 2 3", TWO)
    text = "|: rest 1 | first time 1 2 :| second time metre 3/4 1 2 3"
    assert write_cue(read_cue(text, rhythm).bars, rhythm) == "rest 1 | 1 2 | 1 2 3"


def test_a_rest_in_the_cue_spans_bars_of_any_length() -> None:
    """Eight bars of silence are eight bars, whatever their metre."""
    rhythm = read_bars("1 2 | metre 3/4 1 2 3 | metre 2/4 1 2", TWO)
    assert [bar.length for bar in read_cue("rest 3", rhythm).bars] == [2, 3, 2]


def test_a_rest_inside_a_beat_of_the_cue_brings_a_hint() -> None:
    """The same gentle hint as in the rhythm."""
    rhythm = read_bars("rest 1", TWO)
    assert str(read_cue("1 (&) 2", rhythm).hints[0]).startswith("bar 1: (&) prints a rest")


@pytest.mark.parametrize(
    ("cue", "words", "bar"),
    [
        ("rest 1", "the cue has 1 bar and the rhythm 3", None),
        ("rest 1 | 1 2 | 2", "2 lies outside this bar", 2),
        ("2 | rest 3", "more bars than the rhythm", 1),
        ("rest 4", "more bars than the rhythm", 0),
        ("rest 3 | 1", "more bars than the rhythm", 0),
        ("1 2 | rest 2", "1 lies outside this bar", 0),
        ("rest 1 | 1 3 | 1", "beat 3 is named", 1),
        ("rest 1 | [1] 2 | 1", "nothing sounds there", 1),
        ("rest 1 | tempo 90 1 | 1", "stand in the rhythm, not in the cue", 1),
        ("rest 1 | pause 1 | 1", "stand in the rhythm, not in the cue", 1),
        ('rest 1 | "B" 1 | 1', "stand in the rhythm, not in the cue", 1),
        ("rest 1 |: 1 | 1 :|", "stands here in the cue but not in the rhythm", 1),
        ("rest 1 | 1 :| 1 :|", "stands here in the cue but not in the rhythm", 1),
        ("rest 1 | metre 3/4 1 | 1 :|", "metre stands here in the cue", 1),
        ("rest 1 | first time 1 :| second time 1", "not in the rhythm", 1),
        ("", "the rhythm is empty", None),
        ("rest 1 | 1 2 | 1 E", "capital letter", None),
    ],
)
def test_a_cue_that_does_not_run_beside_the_rhythm_says_why(
    cue: str, words: str, bar: int | None
) -> None:
    """A cue that is a bar short would teach a wrong entry."""
    rhythm = read_bars("2 | 1 2 | 1 :|", TWO)
    with pytest.raises(DrillError, match=words) as caught:
        read_cue(cue, rhythm)
    assert caught.value.bar == bar
