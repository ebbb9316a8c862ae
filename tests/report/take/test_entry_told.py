"""Entries, said and tabled: the class, how often, and what helps."""

from dataclasses import replace

import pytest

from rhythmtrain.report.take.entry_rows import entry_rows
from rhythmtrain.report.take.entry_told import entries_told
from rhythmtrain.report.take.praise import Heard
from tests.simulate.heard import Amiss, heard_of, passage_of

SPOT = (6, "1&")
RHYTHM = "1 & 2 | rest 4 | (1) & 2 & | 1 2"
ENTRY = passage_of(RHYTHM)
CUED = passage_of(RHYTHM, cue="1 2 | 1 2 | 1 2 | 1 2 | 1 2 | 1 2 | 1 2")
TWO = passage_of("1 & | rest 1 | 1 2 | rest 2 | 1 2", cue="1 2 | 1 2 | 1 2 | 1 2 | 1 2 | 1 2")


def _words(heard: Heard) -> list[str]:
    return [told.words for told in entries_told(heard)]


@pytest.mark.parametrize(
    ("verdict", "came"),
    [
        ("one beat early", "you came in one beat early"),
        ("two bars late", "you came in two bars late"),
        ("half a beat early", "you came in half a beat early"),
        ("drifted", "you came in about 1.4 beats late: the count drifted"),
    ],
)
def test_an_entry_at_another_count_is_told_by_its_class(verdict: str, came: str) -> None:
    """The class alone; no milliseconds in what is read first."""
    (words,) = _words(heard_of(ENTRY, Amiss(came={(*SPOT, 1): verdict}))[0])
    assert words.startswith(f"Bar 6: {came}. Count its bars aloud, 1 2, 2 2, 3 2…, and breathe")


def test_an_entry_not_heard_or_plainly_late_is_told_so() -> None:
    """A late one is told to count, not how many bars there were."""
    (missing,) = _words(heard_of(ENTRY, Amiss(missed=frozenset({(*SPOT, 1)})))[0])
    assert missing.startswith("Bar 6: the entry was not heard.")
    (late,) = _words(heard_of(ENTRY, Amiss({(*SPOT, 1): 0.2}))[0])
    assert late == (
        "Bar 6: you came in a little late. Count the rest aloud, and breathe a beat before you "
        "come in."
    )


def test_several_times_are_one_sentence() -> None:
    """The commonest class, and how often it was so."""
    came = {(*SPOT, 1): "one beat early", (*SPOT, 3): "one beat early", (*SPOT, 4): "drifted"}
    (words,) = _words(heard_of(ENTRY, Amiss(came=came), repeats=4)[0])
    assert words.startswith("Bar 6: you came in one beat early, twice in four.")
    drifted = {(*SPOT, 1): "drifted", (*SPOT, 2): "drifted"}
    (words,) = _words(heard_of(ENTRY, Amiss(came=drifted), repeats=2)[0])
    assert words.startswith("Bar 6: the count drifted, both times.")


def test_steadily_late_after_a_cue_is_waiting_to_hear_it() -> None:
    """Said once, as what it is."""
    late = {(*SPOT, 1): 0.2, (*SPOT, 2): 0.2}
    (words,) = _words(heard_of(CUED, Amiss(late), repeats=2)[0])
    assert words.startswith("You came in a little late every time, in bar 6: as one does who waits")
    (uncued,) = _words(heard_of(ENTRY, Amiss(late), repeats=2)[0])
    assert uncued.startswith("Bar 6: you came in a little late, both times.")


def test_late_once_after_a_cue_is_only_late() -> None:
    """One time is no habit; and one right entry among late ones is none."""
    (once,) = _words(heard_of(CUED, Amiss({(*SPOT, 1): 0.2}))[0])
    assert once.startswith("Bar 6: you came in a little late.")
    (mixed,) = _words(heard_of(CUED, Amiss({(*SPOT, 1): 0.2}), repeats=2)[0])
    assert mixed.startswith("Bar 6: you came in a little late, the first time.")


def test_several_entries_late_after_the_cue_are_one_sentence() -> None:
    """Their bars are named together."""
    late = {(3, "1", 1): 0.2, (6, "1", 1): 0.2}
    (words,) = _words(heard_of(TWO, Amiss(late))[0])
    assert "in bars 3 and 6" in words


def test_a_rest_of_one_or_two_bars_is_counted_as_long_as_it_is() -> None:
    """No "3 2" where there is no third bar."""
    came = {(3, "1", 1): "one beat early", (6, "1", 1): "one beat late"}
    first, second = _words(heard_of(TWO, Amiss(came=came))[0])
    assert "Count the rest aloud" in first
    assert "Count its bars aloud, 1 2, 2 2, and breathe" in second


def test_rows_tell_each_time() -> None:
    """How it went, and after how much rest."""
    came = {(*SPOT, 2): "one beat early"}
    heard, _ = heard_of(ENTRY, Amiss(came=came), repeats=2)
    (row,) = entry_rows(heard.findings, ENTRY)
    assert (row.bar, row.place, row.after) == (6, "bar 6, the and of 1", "after four bars of rest")
    assert row.went == "in time the first time and one beat early the second time"


@pytest.mark.parametrize(
    ("amiss", "went"),
    [
        (Amiss(), "in time"),
        (Amiss({(*SPOT, 1): 0.06}), "in time or a little late"),
        (Amiss({(*SPOT, 1): 0.2}), "late"),
        (Amiss(missed=frozenset({(*SPOT, 1)})), "not heard"),
        (Amiss(unchecked=frozenset({(*SPOT, 1)})), "not checked"),
    ],
)
def test_a_row_is_no_harsher_than_the_words(amiss: Amiss, went: str) -> None:
    """What is within honest playing is not called late in a table either."""
    heard, _ = heard_of(ENTRY, amiss)
    assert [row.went for row in entry_rows(heard.findings, ENTRY)] == [went]


def test_a_marked_entry_without_rest_says_nothing_of_rest() -> None:
    """Half a beat, or none."""
    heard, _ = heard_of(ENTRY)
    entry = heard.findings.entries[0]
    bare = replace(heard.findings, entries=(replace(entry, rest_bars=0, rest_beats=0.5),))
    assert entry_rows(bare, ENTRY)[0].after == "after half a beat of rest"
    none = replace(heard.findings, entries=(replace(entry, rest_bars=0, rest_beats=0.0),))
    assert entry_rows(none, ENTRY)[0].after == ""
