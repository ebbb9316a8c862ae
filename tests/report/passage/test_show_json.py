"""The JSON of a shown passage: its keys are a promise."""

import json
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.report.passage.document import show_json
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Passage
from rhythmtrain.units import Bpm


def passage(text: str, metre: str = "4/4", *, tempo: float = 60) -> Passage:
    """Return the passage of a count line."""
    return Passage("Ferry", Bpm(tempo), read_bars(text, Metre.parse(metre)))


def test_the_document_is_the_promised_one() -> None:
    """A program that reads it today reads it next year."""
    document = show_json(passage("rest 1 | (1) &> [2] (3) 4", tempo=90))
    assert json.loads(json.dumps(document, allow_nan=False)) == {
        "title": "Ferry",
        "metre": "4/4",
        "tempo": 90,
        "bars": 2,
        "quarters": 8,
        "notes": [
            {
                "bar": 2,
                "count": "1&",
                "onset": "9/2",
                "length": "3/2",
                "time_s": 3.0,
                "accent": True,
            },
            {
                "bar": 2,
                "count": "4",
                "onset": "7",
                "length": "1",
                "time_s": 14 / 3,
                "accent": False,
            },
        ],
        "entries": [{"bar": 2, "count": "1&", "rest_bars": 1, "rest_beats": 4.5}],
        "hard": [
            {
                "bar": 2,
                "score": pytest.approx(document["hard"][0]["score"]),
                "why": ["starts off the beat, on the and of 1, and ties over beat 2"],
            }
        ],
    }
    assert document["hard"][0]["score"] > 2


def test_bars_are_those_written_not_those_played() -> None:
    """A repeat does not double the notes, nor move the times after it."""
    document = show_json(passage("|: 1 2 3 4 :| x3 tempo 120 1 2"))
    assert document["bars"] == 2
    assert [note["time_s"] for note in document["notes"]] == pytest.approx([0, 1, 2, 3, 4, 4.5])


def test_times_follow_the_tempo_marks() -> None:
    """After four quarters at 60 a bar at 120 is twice as fast; a pause doubles the beat before."""
    document = show_json(passage("1 2 3 4 | tempo 120 1 2 3 4 | pause 1"))
    times = [note["time_s"] for note in document["notes"]]
    assert times == pytest.approx([0, 1, 2, 3, 4, 4.5, 5, 5.5, 6.5])


def test_an_upbeat_lies_before_bar_one() -> None:
    """Bar 1 is second 0 in everything that is printed."""
    first = show_json(passage("4 | 1 2 3 4", tempo=120))["notes"][0]
    assert (first["bar"], first["onset"], first["time_s"]) == (0, "-1", -0.5)


@settings(deadline=None, max_examples=50)
@given(
    st.lists(st.sampled_from(["1 2 3 4", "1 & [2] 3", "rest 2", "(1) la li 2 3"]), min_size=1),
    st.floats(20, 300),
)
def test_at_a_steady_tempo_time_is_written_time(bars: list[str], tempo: float) -> None:
    """Seconds and exact fractions never part company."""
    document = show_json(passage(" | ".join(bars), tempo=tempo))
    for note in document["notes"]:
        assert note["time_s"] == pytest.approx(float(Fraction(note["onset"])) * 60 / tempo)
    assert isinstance(document["quarters"], int)
