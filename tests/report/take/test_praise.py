"""One true thing that went well, chosen so that it is worth hearing."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.assess.findings import Extra, Findings, Tally, Try
from rhythmtrain.report.take.playing import Playing
from rhythmtrain.report.take.praise import Heard, praise
from tests.simulate.heard import Amiss, Spot, heard_of, passage_of

RAG = passage_of("1 2 | 1 e [&] a 2 & | 1 2 | 1 (2)")
ENTRY = passage_of("1 & 2 | rest 4 | (1) & 2 & | 1 2")
UPBEAT = passage_of("2 & | 1 2 | 1 2 | 1")
EVERY = [(note.bar, note.count, 1) for note in heard_of(RAG)[0].findings.notes]


def _with(heard: Heard, **changes: Any) -> Heard:
    return replace(heard, findings=replace(heard.findings, **changes))


def _tally(findings: Findings, **changes: int) -> Tally:
    return replace(findings.tally, **changes)


def test_all_in_time_is_said_first_and_plainly() -> None:
    """In the word for what was played."""
    assert praise(heard_of(RAG)[0]) == "Every note was there and in time."
    clapped = heard_of(RAG, playing=Playing("clap", "clap"))[0]
    assert praise(clapped) == "Every clap was there and in time."


def test_a_note_a_little_out_is_not_called_in_time() -> None:
    """Praise that the picture contradicts is worth nothing."""
    heard, _ = heard_of(RAG, Amiss({(2, "1e", 1): 0.06}))
    assert praise(heard) == "Every note was there, and nothing stood out."


def test_an_entry_in_its_place_is_praised_with_its_rest() -> None:
    """Counting four bars rightly is the hardest thing on the page."""
    heard, _ = heard_of(ENTRY, Amiss({(7, "2", 1): 0.3}))
    assert praise(heard) == "You came in where you should in bar 6, after four bars of rest."
    short = passage_of("1 (2) | (1) & 2 | 1 2", "2/4")
    found = heard_of(short, Amiss(missed=frozenset({(3, "2", 1)})))[0]
    assert praise(found).startswith("Bar ")


def test_an_entry_wrong_one_time_of_two_is_not_praised() -> None:
    """Only what was right each time."""
    amiss = Amiss(came={(6, "1&", 2): "one beat early"})
    heard, _ = heard_of(ENTRY, amiss, repeats=2)
    assert "came in" not in praise(heard)


def test_an_entry_without_a_whole_bar_of_rest_names_no_bars() -> None:
    """Where a cue fills less than a bar."""
    heard, _ = heard_of(ENTRY, Amiss({(7, "2", 1): 0.3}))
    short = tuple(replace(entry, rest_bars=0) for entry in heard.findings.entries)
    assert praise(_with(heard, entries=short)) == "You came in where you should in bar 6."


def test_the_hardest_bar_is_praised_before_an_easy_row() -> None:
    """It is what was practised."""
    heard, _ = heard_of(RAG, Amiss(missed=frozenset({(1, "2", 1)})))
    assert praise(heard) == "Bar 2, the hardest, was in time."


def test_the_second_hardest_is_a_hard_one() -> None:
    """Where the hardest went wrong."""
    two = passage_of("1 2 | 1 e [&] a 2 e [&] a | (1) & 2 | 1 2")
    heard, _ = heard_of(two, Amiss(missed=frozenset({(2, "2", 1), (2, "1e", 1)})))
    assert praise(heard) == "Bar 3, a hard one, was in time."


def test_the_longest_clean_row_is_named() -> None:
    """Plain bars too are worth a word."""
    heard, _ = heard_of(RAG, Amiss(missed=frozenset({(2, "1e", 1)})))
    assert praise(heard) == "Bars 3 and 4 were in time."
    upbeat, _ = heard_of(UPBEAT, Amiss(missed=frozenset({(1, "2", 1), (2, "1", 1), (3, "1", 1)})))
    assert praise(upbeat) == "The upbeat was in time."


def test_who_is_a_beat_out_all_through_is_right_in_themselves() -> None:
    """To call it in time would be untrue."""
    assert praise(_with(heard_of(RAG)[0], shift_beats=1.0)) == (
        "Bar 2, the hardest, was right in itself."
    )
    assert "came in" not in praise(_with(heard_of(ENTRY)[0], shift_beats=1.0))


MUCH = frozenset({(1, "1", 1), (2, "1", 1), (3, "1", 1), (4, "1", 1)})


def test_a_steady_tempo_is_praised_where_no_bar_was_clean() -> None:
    """From twelve notes on; fewer cannot show it."""
    heard, _ = heard_of(RAG, Amiss(missed=MUCH))
    many = _with(heard, tally=_tally(heard.findings, expected=20, matched=16))
    assert praise(many) == "You kept a steady tempo."
    assert praise(_with(many, drift_percent=-2.0)) == "You got through to the end."
    assert praise(_with(many, drift_percent=None)) == "You got through to the end."


@pytest.mark.parametrize(
    ("matched", "missed", "said"),
    [
        (8, 0, "Every note you tried was there."),
        (6, 2, "Most of the notes were there."),
        (3, 5, "Most of bar 2 was there."),
    ],
)
def test_something_true_is_found_in_a_poor_take(matched: int, missed: int, said: str) -> None:
    """A tired student is not sent away with nothing."""
    heard, _ = heard_of(RAG, Amiss(missed=MUCH))
    stopped = (Try(1, 3, 2.0, complete=False),)
    tally = Tally(12, matched, missed, 0, 12 - matched - missed)
    assert praise(_with(heard, tally=tally, tries=stopped, drift_percent=4.0)) == said


def test_nothing_is_made_up() -> None:
    """No praise where nothing was heard, the piece is another, or no bar was half there."""
    heard, _ = heard_of(RAG, Amiss(missed=MUCH))
    assert praise(_with(heard, looks_like=False)) == ""
    assert praise(_with(heard, tally=Tally(10, 0, 10, 0, 0))) == ""
    bare = _with(heard, tally=Tally(10, 2, 8, 0, 0), tries=(), drift_percent=None, bars=())
    assert praise(bare) == ""


@given(
    late_s=st.dictionaries(st.sampled_from(EVERY), st.floats(-0.3, 0.3), max_size=5),
    missed=st.frozensets(st.sampled_from(EVERY), max_size=5),
    too_many=st.booleans(),
)
def test_in_time_is_never_said_of_a_bar_with_anything_amiss(
    late_s: dict[Spot, float], missed: frozenset[Spot], *, too_many: bool
) -> None:
    """The law of praise: it is true."""
    extras = (Extra(3.0, 3, "1"),) if too_many else ()
    heard, _ = heard_of(RAG, Amiss(late_s, missed=missed, extras=extras))
    said = praise(heard)
    assert said or not heard.findings.tally.matched or len(missed) > 2
    if "in time" in said:
        amiss = {flag.bar for flag in heard.flags} | ({3} if too_many else set())
        named = set(heard.clean) if "Every" not in said else {1, 2, 3, 4}
        assert not named & amiss
