"""Entries: come in right, a count early, a bar late, or with a late first note."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.entries import Phrase, came_in
from rhythmtrain.assess.entry_words import class_words
from rhythmtrain.assess.findings import EntryFinding
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.timing.timeline import lay_out
from tests.simulate.passages import bar, passage

# At 60 beats a minute: two bars, three bars of rest, two bars.
SCORE = lay_out(
    passage(
        bar(1, 0, 1, 2, "5/2", 3),
        bar(2, 0, "1/2", 1, 2),
        bar(3),
        bar(4),
        bar(5),
        bar(6, 1, "3/2", 2, 3),
        bar(7, 0, 1, "3/2", 3),
        tempo=60,
    )
)
TIMES = np.array([float(SCORE.seconds(note.at)) for note in SCORE.notes])
ENTRY = SCORE.entries[0].note


def phrase(beats: NDArray[np.float64], *, least_s: float = -9.0) -> Phrase:
    """Return a phrase in 4/4 whose beats last a second each."""
    return Phrase(beats, lambda at: at, bar=4.0, least_s=least_s)


def entered(*, phrase_s: float = 0.0, first_s: float = 0.0) -> EntryFinding:
    """Return the finding when the phrase, or its first note alone, comes so much later."""
    rng = np.random.default_rng(4)
    times = TIMES + 2.0 + rng.normal(0, 0.012, len(TIMES))
    times[ENTRY:] += phrase_s
    times[ENTRY] += first_s
    take = Take("text", "a.txt", tuple(Heard(float(time)) for time in sorted(times)), 60.0)
    return check_take(SCORE, take, Settings(speed=1.0, start_s=2.0)).entries[0]


@pytest.mark.parametrize(
    ("late_s", "words"),
    [
        (0.0, "in time"),
        (-0.5, "half a beat early"),
        (0.5, "half a beat late"),
        (-1.0, "one beat early"),
        (1.0, "one beat late"),
        (-4.0, "one bar early"),
        (4.0, "one bar late"),
        (8.0, "two bars late"),
        (-2.0, "two beats early"),
    ],
)
def test_the_class_is_told_in_the_words_of_the_trade(late_s: float, words: str) -> None:
    """Whoever miscounted hears by how much, and nothing else."""
    found = entered(phrase_s=late_s)
    assert found.verdict == words
    assert found.offset_s == pytest.approx(late_s, abs=0.06)
    assert found.offset_beats == pytest.approx(late_s, abs=0.06)
    assert (found.rest_bars, found.rest_beats) == (3, 13)


def test_a_short_last_phrase_is_found_although_it_came_late() -> None:
    """Three notes are too few to follow by themselves, but enough to place."""
    score = lay_out(
        passage(
            bar(1, 0, 1, "3/2", 2, 3),
            bar(2, 0, "1/2", 1, 2, 3),
            bar(3),
            bar(4),
            bar(5, 0, "1/2", 2),
            tempo=60,
        )
    )
    times = np.array([float(score.seconds(note.at)) for note in score.notes]) + 2.0
    times[-3:] += 1.0
    take = Take("text", "a.txt", tuple(Heard(float(time)) for time in times), 60.0)
    findings = check_take(score, take, Settings(speed=1.0, start_s=2.0))
    assert findings.entries[0].verdict == "one beat late"
    assert findings.tally.matched == len(times)


def test_one_late_note_is_no_miscount() -> None:
    """The notes after the entry show that the counting was right."""
    found = entered(first_s=0.2)
    assert found.verdict == "late"


def test_an_off_beat_first_note_put_half_a_beat_away_is_told_as_such() -> None:
    """Coming in on the beat instead of after it is a reading mistake, not lateness."""
    assert entered(first_s=-0.5).verdict == "half a beat early"


def test_a_count_that_fits_no_beat_has_drifted() -> None:
    """About 1.7 bars is no count at all; the sentence says how far."""
    found = entered(phrase_s=1.27)
    assert found.verdict == "drifted"
    assert found.sentence == "about 1.3 beats late: the count drifted"


def test_a_class_with_something_beside_it_says_both() -> None:
    """One beat early, and so many milliseconds late."""
    rng = np.random.default_rng(1)
    times = TIMES + 2.0 + rng.normal(0, 0.01, len(TIMES))
    times[ENTRY:] -= 1.0
    times[ENTRY] += 0.12
    take = Take("text", "a.txt", tuple(Heard(float(time)) for time in times), 60.0)
    found = check_take(SCORE, take, Settings(speed=1.0, start_s=2.0)).entries[0]
    assert found.verdict == "one beat early"
    assert found.sentence.startswith("one beat early, and 1")
    assert found.sentence.endswith("ms late")


def test_no_clap_near_an_entry_is_a_missed_entry() -> None:
    """Silence is not lateness."""
    expected = np.array([10.0, 11.0])
    assert not came_in(phrase(expected, least_s=-8.0), np.array([2.0])).heard


@given(st.sampled_from([0.0, -1.0, 1.0, 4.0]), st.floats(-0.03, 0.03))
def test_whole_beats_are_placed_right_from_four_notes(beats: float, habit: float) -> None:
    """With the notes after it, a beat's miscount and a late note are two things."""
    expected = np.array([20.0, 20.5, 21.5, 23.0, 24.0])
    came = came_in(phrase(expected), expected + beats + habit)
    assert came.beats == beats
    assert came.sure > 0.9


def test_a_clap_in_the_rest_speaks_against_having_counted_right() -> None:
    """Even notes half a beat early fit the written ones but for the first and the last."""
    expected = np.array([10.0, 10.5, 11.0, 11.5])
    came = came_in(phrase(expected), expected - 0.5)
    assert came.beats == -0.5


def test_a_first_entry_by_which_the_start_was_found_is_not_judged() -> None:
    """It cannot be told from the playing whether the playing was in time."""
    score = lay_out(passage(bar(1), bar(2, 0, 1, 2, 3), bar(3, 0, 1, "3/2", 2), tempo=60))
    times = [float(score.seconds(note.at)) + 3 for note in score.notes]
    take = Take("text", "a.txt", tuple(map(Heard, times)), 60.0)
    assert check_take(score, take, Settings(speed=1.0)).entries[0].verdict == "not checked"
    known = check_take(score, take, Settings(speed=1.0, start_s=3.0)).entries[0]
    assert known.verdict == "in time"


@pytest.mark.parametrize(
    ("beats", "beats_a_bar", "words"),
    [
        (-0.5, 4, "half a beat early"),
        (1, 4, "one beat late"),
        (1.5, 4, "one and a half beats late"),
        (-3, 3, "one bar early"),
        (8, 4, "two bars late"),
        (6, 4, "six beats late"),
        (-26, 2, "13 bars early"),
    ],
)
def test_whole_bars_are_said_as_bars_and_small_numbers_in_words(
    beats: float, beats_a_bar: float, words: str
) -> None:
    """As a teacher would say it."""
    assert class_words(beats, beats_a_bar) == words
