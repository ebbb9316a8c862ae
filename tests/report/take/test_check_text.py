"""The text of a take: short, narrow, in order, and silent where nothing matters."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.assess.findings import Extra, Mistake, Spread, Try
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.report.lines import hanging, table
from rhythmtrain.report.narrower import relaid
from rhythmtrain.report.take.advice import advice
from rhythmtrain.report.take.heard_rows import heard_rows
from rhythmtrain.report.take.playing import Playing, playing_of
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.small_print import LENGTHS, START_FOUND, TOO_FEW, small_print, story
from rhythmtrain.report.take.text import check_text, tempo_in_words
from tests.simulate.heard import Amiss, Spot, heard_of, passage_of

LONG = passage_of(" | ".join(["1 & 2 &"] * 8), title="Lantern Rag, the long strain")
ENTRY = passage_of("1 & 2 | rest 4 | (1) & 2 & | 1 2")
SPOTS = [(note.bar, note.count, 1) for note in heard_of(LONG)[0].findings.notes]


def _text(heard: Heard) -> str:
    laid = check_text(heard, advice(heard, name="rag.toml"), take="take.m4a")
    return relaid(laid, as_typed)


def _with(heard: Heard, **changes: Any) -> Heard:
    return replace(heard, findings=replace(heard.findings, **changes))


def test_the_whole_text_of_a_take() -> None:
    """Good, First, Then, the entries, the table, how it was heard, what to type."""
    amiss = Amiss(
        {(1, "2", 1): 0.2},
        missed=frozenset({(7, "2", 2)}),
        extras=(Extra(3.0, 1, "1&"),),
        came={(6, "1&", 2): "one beat early"},
    )
    heard, _ = heard_of(ENTRY, amiss, repeats=2, playing=Playing("clap", "clap"))
    assert (
        _text(heard)
        == """\
Lantern Rag
take.m4a, at quarter = 60

Good   You kept a steady tempo.
First  Bar 6: you came in one beat early, the second time. Count its bars
       aloud, 1 2, 2 2, 3 2…, and breathe a beat before you come in.
Then   Bar 7: beat 2 was not heard, the second time.
       Bar 1: beat 2 came late, the first time. Say the counts of that bar
       aloud, then clap it alone, slowly.
       One clap too many was heard, in bar 1.

Entries
  bar 6, the and of 1  in time the first time and one beat early the second
                       time (after four bars of rest)

What was heard
  bar 1, the and of 1  one clap too many near it
  bar 1, beat 2        late by 200 ms, the first time
  bar 7, beat 2        not heard, the second time

Where bar 1 begins was found from the take itself, so whether all of it was
late or early by the same amount cannot be told.
How long you held notes was not checked.

To type next:
  rhythmtrain track rag.toml -o again.flac --bars 1-6 --speed 0.8 --repeats 4"""
    )


def test_a_bad_take_stays_short() -> None:
    """Twelve rows, and where the others are."""
    heard, _ = heard_of(LONG, Amiss(missed=frozenset(SPOTS[:20])))
    text = _text(heard)
    assert text.count("  bar ") == 12
    assert "  and 8 more: --report heard.html shows them all" in text


def test_another_piece_has_no_table() -> None:
    """It is told gently and not judged."""
    heard, _ = heard_of(LONG, Amiss(missed=frozenset(SPOTS)))
    text = _text(_with(heard, looks_like=False))
    assert "not heard" not in text
    assert "Good" not in text
    assert LENGTHS not in text


def test_a_tempo_that_was_found_says_so() -> None:
    """The player may have meant another."""
    assert "at quarter = 60 (found from the take)" in _text(
        _with(heard_of(LONG)[0], tempo_found=True)
    )
    tally = replace(heard_of(LONG)[0].findings.tally, matched=1)
    one = _with(heard_of(LONG)[0], tempo_found=True, tally=tally)
    assert _text(one).splitlines()[1].endswith(", too few notes to tell how fast")
    jig = passage_of("1 li 2", "6/8")
    assert tempo_in_words(jig, 0.5) == "dotted quarter = 30"
    assert tempo_in_words(jig, 0.5, british=True) == "dotted crotchet = 30"
    slow = passage_of("1 2", "10/16")
    assert tempo_in_words(slow, 1.0) == "sixteenth = 60"


def test_rows_stand_in_the_order_of_the_passage() -> None:
    """A figure before the notes of its count, what was too many after them."""
    figure = Mistake(2, "1", "dotted played even", (4,), 1, 1)
    amiss = Amiss(
        {(2, "2", 1): 0.2, (1, "2&", 1): -0.2},
        extras=(Extra(3.0, 2, "1"), Extra(3.1, 2, "1")),
        mistakes=(figure,),
    )
    rows = heard_rows(heard_of(LONG, amiss)[0])
    assert [(row.place, row.shape, row.what) for row in rows] == [
        ("bar 1, the and of 2", "◀", "early by 200 ms"),
        ("bar 2, beat 1", "", "dotted played even"),
        ("bar 2, beat 1", "\N{MULTIPLICATION SIGN}", "two notes too many near it"),
        ("bar 2, beat 2", "▶", "late by 200 ms"),
    ]


def test_what_came_between_repeats_is_in_no_bar() -> None:
    """An upbeat's bar 0 is not the counted bar between two repeats."""
    upbeat = passage_of("2 & | 1 2 | 1")
    extras = (Extra(3.0, 0, "1"), Extra(4.0, 0, "2"), Extra(5.0, 9, "1"))
    rows = heard_rows(heard_of(upbeat, Amiss(extras=extras))[0])
    assert [row.place for row in rows] == ["the upbeat, beat 2"]


def test_several_tries_are_said_at_the_head_once() -> None:
    """Which one is told of, and where it stopped; the remark that repeats it is left out."""
    tries = (Try(1, 3, 2.0, complete=False), Try(0, 8, 9.0, complete=True))
    remarks = ("two tries were heard; this is about number 2, bars 1 to 8",
               "everything came one beat late", "stopped in bar 6, began again at bar 5",
               "with so few notes little can be told for certain")  # fmt: skip
    heard = _with(heard_of(LONG)[0], tries=tries, shown=1, remarks=remarks)
    assert story(heard.findings) == (
        "Two tries were heard; this is about number 2, from the upbeat to bar 8.",
        "Stopped in bar 6, began again at bar 5.",
    )
    assert small_print(heard) == ("With so few notes little can be told for certain.", LENGTHS)
    assert "Stopped in bar 6" in _text(heard)


def _spread(median_s: float) -> Spread:
    return Spread(median_s, median_s, 0.01, median_s - 0.03, median_s + 0.03)


@pytest.mark.parametrize(
    ("habit_s", "words"),
    [
        (0.002, "Your claps lie right on the click."),
        (-0.034, "Your claps lie 34 ms ahead of the click all through: that is how people play"),
        (0.05, "Your claps lie 50 ms behind the click all through: that is how people play"),
        (0.12, "Your claps lie 120 ms behind the click all through, which is more than people"),
    ],
)
def test_the_habit_is_spoken_of_where_the_start_is_known(habit_s: float, words: str) -> None:
    """A common earliness is how people clap, never a fault."""
    heard, _ = heard_of(LONG, playing=Playing("clap", "clap"))
    given_start = _with(heard, start="given", spread=_spread(habit_s))
    assert small_print(given_start)[0].startswith(words)
    assert START_FOUND not in small_print(given_start)


def test_the_habit_is_not_spoken_of_where_it_cannot_be_told() -> None:
    """Found starts, free playing, a whole take out by a beat."""
    heard = _with(heard_of(LONG)[0], spread=_spread(0.05))
    assert small_print(heard) == (START_FOUND, LENGTHS)
    known = _with(heard, start="given")
    assert small_print(_with(known, shift_beats=1.0)) == (LENGTHS,)
    assert small_print(_with(known, timing="free")) == (LENGTHS,)
    assert small_print(_with(heard, timing="free")) == (LENGTHS,)
    assert small_print(_with(known, spread=None)) == (LENGTHS,)
    assert (
        "ahead of the beat" in small_print(_with(known, spread=_spread(-0.05), tempo_found=True))[0]
    )


def test_too_few_notes_to_know_the_piece_is_said_only_where_notes_are_missing() -> None:
    """Who played all eight needs no doubt cast on them."""
    few = _with(heard_of(LONG)[0], looks_like=None)
    assert TOO_FEW not in small_print(few)
    gone = _with(heard_of(LONG, Amiss(missed=frozenset(SPOTS[:16])))[0], looks_like=None)
    assert TOO_FEW in small_print(gone)


def test_how_finely_blown_notes_are_heard_is_said_where_it_matters() -> None:
    """Where something was called early or late, and not for claps."""
    wind = playing_of("audio", "wind", uncertainty_s=0.02)
    late = Amiss({(1, "2", 1): 0.2})
    words = "Single notes like these are heard to about 20 ms"
    assert any(
        line.startswith(words) for line in small_print(heard_of(LONG, late, playing=wind)[0])
    )
    assert not any(line.startswith(words) for line in small_print(heard_of(LONG, playing=wind)[0]))
    claps = playing_of("audio", "claps", uncertainty_s=0.001)
    assert not any("finer" in line for line in small_print(heard_of(LONG, late, playing=claps)[0]))
    entry = Amiss({(6, "1&", 1): 0.3})
    assert any("finer" in line for line in small_print(heard_of(ENTRY, entry, playing=wind)[0]))


@pytest.mark.parametrize(
    ("source", "kind", "words"),
    [
        ("audio", "claps", ("clap", "clap")), ("keys", "claps", ("clap", "clap")),
        ("audio", "voice", ("note", "sing")), ("audio", "wind", ("note", "play")),
        ("audio", "plucked", ("note", "play")), ("midi", "claps", ("note", "play")),
        ("text", "claps", ("note", "play")),
    ],
)  # fmt: skip
def test_claps_are_only_what_was_clapped(source: str, kind: str, words: tuple[str, str]) -> None:
    """A clarinettist does not clap, and a list of times may be anything."""
    playing = playing_of(source, kind)
    assert (playing.noun, playing.verb) == words


@given(st.text(st.sampled_from("ab  -\n"), max_size=300), st.text("xy", max_size=6))
def test_hanging_lines_keep_every_word_and_the_width(words: str, label: str) -> None:
    """Nothing is lost, nothing runs over the edge but a word that is longer than the line."""
    lines = hanging(label, words).split("\n")
    assert " ".join(lines).split() == [*label.split(), *words.split()]
    longest = max((len(word) for word in words.split()), default=0)
    assert all(len(line) <= max(78, longest + 7) for line in lines)


def test_a_table_of_nothing_is_nothing() -> None:
    """No heading stands over an empty table."""
    assert table([]) == ""
    assert table([("a", "one"), ("bb", "two")]) == "  a   one\n  bb  two"


@given(
    st.dictionaries(st.sampled_from(SPOTS), st.floats(-0.5, 0.5), max_size=20),
    st.frozensets(st.sampled_from(SPOTS), max_size=32),
)
def test_no_line_is_wider_than_a_terminal(
    late_s: dict[Spot, float], missed: frozenset[Spot]
) -> None:
    """Seventy-eight columns, whatever was played; the command alone may be longer."""
    text = _text(heard_of(LONG, Amiss(late_s, missed=missed))[0])
    told = text.partition("To type next:")[0]
    assert all(len(line) <= 78 for line in told.splitlines())
