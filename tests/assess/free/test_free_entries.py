"""Entries in free playing, judged from both sides of the rest."""

import numpy as np
import pytest

from rhythmtrain.assess.findings import EntryFinding
from rhythmtrain.assess.free.check import free_findings
from rhythmtrain.assess.free.entries import TOO_LONG, UNSURE, came
from tests.simulate.free_takes import freely, take_of, timeline

AROUND = "1 & 2 & | 1 2 & | 1 & 2 & | 1 & 2 |{rest}| 1 & 2 & | 1 2 & | 1 & 2 & | 1 & 2 & | 1 2 | 1"
LAID = timeline(AROUND.format(rest="rest 1"), metre="2/4")
LONG = timeline(AROUND.format(rest="rest 9"), metre="2/4")


def entered(late_beats: float, *, missing: bool = False) -> EntryFinding:
    """Return the finding when everything from the entry on comes so many beats later."""
    times = freely(LAID, depth=0.03)
    note = LAID.entries[0].note
    times[note:] += late_beats * 60 / 72
    kept = np.delete(times, note) if missing else times
    return free_findings(LAID, take_of(kept)).entries[0]


@pytest.mark.parametrize(
    ("beats", "words"),
    [(0.0, "in time"), (0.2, "in time"), (-1.0, "one beat early"), (1.0, "one beat late")],
)
def test_a_miscounted_rest_is_told_by_its_beats(beats: float, words: str) -> None:
    """Whoever came in a beat early after one bar of rest is told so; hesitating is no fault."""
    heard = entered(beats)
    assert heard.verdict == words
    assert heard.offset_beats == pytest.approx(beats, abs=0.3)
    assert heard.offset_s == pytest.approx(beats * 60 / 72, abs=0.3)
    assert heard.rest_bars == 1


def test_a_count_that_drifted_is_told_with_its_size() -> None:
    """Far from every count, the player hears about how far, and that the count drifted."""
    heard = entered(-1.45)
    assert heard.verdict == "drifted"
    assert heard.sentence == "about 1.5 beats early: the count drifted"


def test_a_doubtful_entry_is_left_alone() -> None:
    """Half a beat late may be a breath: nothing is claimed."""
    heard = entered(0.62)
    assert heard.verdict in {"in time", "not checked"}
    assert heard.sentence in {"", UNSURE}


def test_an_entry_that_was_not_played_is_missed() -> None:
    """And nothing else is made of it."""
    assert entered(0.0, missing=True).verdict == "missed"


def test_after_a_very_long_rest_nothing_is_claimed() -> None:
    """Nobody's tempo predicts an entry nine bars ahead."""
    times = freely(LONG)
    times[LONG.entries[0].note :] += 60 / 72
    findings = free_findings(LONG, take_of(times))
    (heard,) = findings.entries
    assert (heard.verdict, heard.sentence) == ("not checked", TOO_LONG)
    assert heard.offset_s is None
    why = f"the entry in bar {heard.bar} was not checked: {TOO_LONG}"
    assert why in findings.remarks


def test_an_entry_that_was_not_reached_is_not_checked() -> None:
    """Stopping before the rest is no missed entry."""
    times = freely(LAID)[: LAID.entries[0].note - 3]
    assert free_findings(LAID, take_of(times)).entries[0].verdict == "not checked"


def test_between_two_classes_the_posterior_does_not_decide() -> None:
    """Half-way between two counts nobody can say which it was."""
    sure = came(-1.0, 0.1, 4.0)
    assert max(sure, key=lambda each: sure[each]) == -1.0
    assert sure[-1.0] > 0.9
    unsure = came(1.5, 0.1, 4.0)
    assert max(unsure.values()) < 0.9
    assert sum(unsure.values()) < 1.0
