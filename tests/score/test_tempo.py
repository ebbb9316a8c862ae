"""Which tempo is in force where, as written."""

import pytest

from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Passage
from rhythmtrain.score.tempo import beats_a_minute, quarters_a_minute, speeds, tempo_at
from rhythmtrain.units import Bpm


def _passage(text: str, metre: str, tempo: float) -> Passage:
    return Passage("x", Bpm(tempo), read_bars(text, Metre.parse(metre)))


def test_a_tempo_counts_the_beats_of_its_metre() -> None:
    """66 in 6/8 is 66 dotted quarters."""
    assert quarters_a_minute(66, Metre.parse("6/8")) == 99
    assert beats_a_minute(99, Metre.parse("6/8")) == Bpm(66)
    assert quarters_a_minute(168, Metre.parse("3+2/8", beat="group")) == 84


def test_note_values_keep_their_length_through_a_change_of_metre() -> None:
    """Without a new tempo, quarter is quarter."""
    passage = _passage("1 2 | metre 6/8 1 2 | metre 2/2 1 2", "2/4", 90)
    assert speeds(passage) == ((90, 90),) * 3
    assert [tempo_at(passage, index) for index in range(3)] == [Bpm(90), Bpm(60), Bpm(45)]


def test_a_new_tempo_counts_the_beats_of_the_metre_in_force() -> None:
    """`metre 6/8 tempo 60` is sixty dotted quarters."""
    passage = _passage("1 2 | metre 6/8 tempo 60 1 2", "2/4", 90)
    assert speeds(passage) == ((90, 90), (90, 90))


def test_a_gradual_tempo_goes_in_a_straight_line_over_written_time() -> None:
    """Half of the slowing-down is done after half of the quarters, whatever the bars."""
    text = "1 2 | tempo 100 to 60 over 3 bars 1 2 | metre 4/4 1 2 3 4 | metre 2/4 1 2 | 1 2"
    passage = _passage(text, "2/4", 120)
    expected = [(120, 120), (100, 90), (90, 70), (70, 60), (60, 60)]
    for found, wanted in zip(speeds(passage), expected, strict=True):
        assert found == pytest.approx(wanted)


def test_a_gradual_tempo_that_outlasts_the_passage_arrives_at_its_end() -> None:
    """The last bar ends at the tempo that was written."""
    passage = _passage("tempo 100 to 60 over 9 bars 1 2 | 1 2", "2/4", 100)
    assert speeds(passage)[-1] == pytest.approx((80, 60))


def test_a_new_tempo_ends_a_gradual_one() -> None:
    """`a tempo` in the middle of a slowing-down takes over at once."""
    passage = _passage("tempo 100 to 60 over 4 bars 1 2 | 1 2 | tempo 100 1 2", "2/4", 100)
    assert speeds(passage)[-1] == (100, 100)
