"""What to do next: one thing first, kind and short, and a command that works."""

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.assess.findings import FEW_NOTES, Extra, Mistake, Verdict
from rhythmtrain.report.take.advice import MOST_OTHERS, Advice, advice
from rhythmtrain.report.take.playing import Playing
from rhythmtrain.report.take.praise import Heard
from tests.simulate.heard import Amiss, Spot, heard_of, passage_of

RAG = passage_of("1 e [&] a 2 & | (1) & a 2 | 1 & [2] & | 1 (2)", tempo=72)
LONG = passage_of(" | ".join(["1 & 2 &"] * 8))
ENTRY = passage_of("1 & 2 | rest 4 | (1) & 2 & | 1 2")
SPOTS = [(note.bar, note.count, 1) for note in heard_of(LONG)[0].findings.notes]
CLAPS = Playing("clap", "clap")


def _said(heard: Heard, bars: str | None = None) -> Advice:
    return advice(heard, name="rag.toml", bars=bars)


def _with(heard: Heard, **changes: Any) -> Heard:
    return replace(heard, findings=replace(heard.findings, **changes))


def _first(amiss: Amiss, repeats: int = 1) -> str:
    return _said(heard_of(RAG, amiss, repeats=repeats)[0]).first


def test_a_good_slow_take_goes_one_mark_faster() -> None:
    """The next mark of the metronome, and the command that makes the track."""
    said = _said(_with(heard_of(RAG)[0], speed=0.75))
    assert said.first == "Try it a little faster: 56 beats a minute."
    assert said.command == "rhythmtrain track rag.toml -o next.flac --tempo 56 --repeats 4 --fade"
    assert said.others == ()


def test_a_take_of_which_little_was_checked_does_not_stand_at_its_tempo() -> None:
    """Whoever was lost after a bar is not sent to the accompaniment."""
    heard = heard_of(RAG, repeats=2)[0]
    notes = heard.findings.notes

    def checked(few: int) -> Advice:
        lost = tuple(
            note if number < few else replace(note, verdict=Verdict.NOT_CHECKED, offset_s=None)
            for number, note in enumerate(notes)
        )
        return _said(_with(heard, notes=lost))

    assert checked(3).first.startswith("Too little of it was checked")
    assert checked(3).command == "rhythmtrain track rag.toml -o again.flac --speed 0.8 --repeats 4"
    assert checked(len(notes) // 2).first.startswith("It stands at its tempo")


@pytest.mark.parametrize(
    ("playing", "end"),
    [
        (CLAPS, "clap it once with nothing sounding, then take your instrument."),
        (
            Playing("note", "sing"),
            "sing it once with nothing sounding, then with the accompaniment.",
        ),
        (Playing(), "play it once with nothing sounding, then with the accompaniment."),
    ],
)
def test_a_good_take_at_tempo_goes_on_in_a_teachers_order(playing: Playing, end: str) -> None:
    """Clap, sing, play, then together."""
    said = _said(heard_of(RAG, playing=playing)[0], bars="1-4")
    assert said.first == f"It stands at its tempo: {end}"
    assert "--bars 1-4" in said.command
    assert "--tempo 72" in said.command


def test_a_dozen_notes_do_not_make_it_stand_at_its_tempo() -> None:
    """What is said to be uncertain below is not called done above; the track repeats it."""
    heard = heard_of(RAG)[0]
    said = _said(_with(heard, remarks=("nothing kept time", FEW_NOTES)))
    assert "stands" not in said.first
    assert said.first.endswith("too few notes to be sure: play it four times in a row.")
    assert "--tempo 72 --repeats 4" in said.command


def test_another_piece_is_asked_about_and_not_judged() -> None:
    """Nothing else is said, whatever was found."""
    heard, _ = heard_of(RAG, Amiss(missed=frozenset({(1, "1", 1)})))
    said = _said(_with(heard, looks_like=False))
    assert said.first.startswith("This does not sound like Lantern Rag. Is it the right passage")
    assert (said.praise, said.others) == ("", ())
    assert said.command == "rhythmtrain show rag.toml"


@pytest.mark.parametrize(
    ("shift", "words"),
    [
        (1.0, "one beat late"),
        (-2.0, "one bar early"),
        (0.5, "half a beat late"),
        (-1.3, "about 1.3 beats early"),
        (2.7, "about 2.7 beats late"),
    ],
)
def test_everything_a_beat_or_a_bar_out_is_said_once(shift: float, words: str) -> None:
    """Whole bars as bars."""
    said = _said(_with(heard_of(RAG)[0], shift_beats=shift))
    assert said.first.startswith(f"Everything came {words}.")


def test_an_entry_out_is_named_with_how_to_count_its_rest() -> None:
    """And the track begins before the rest."""
    said = _said(heard_of(ENTRY, Amiss(came={(6, "1&", 1): "one beat early"}))[0])
    assert said.first == (
        "Bar 6: you came in one beat early. Count its bars aloud, 1 2, 2 2, 3 2…, and breathe a "
        "beat before you come in."
    )
    assert "--bars 1-6" in said.command


def test_a_missing_note_says_where_and_when() -> None:
    """The second time, not 1 of 2."""
    gone = Amiss(missed=frozenset({(1, "2&", 2)}))
    assert _first(gone, repeats=2) == "Bar 1: the and of 2 was not heard, the second time."
    both = Amiss(missed=frozenset({(1, "2&", 1), (1, "2", 1)}))
    assert _first(both) == "Bar 1: beat 2 and the and of 2 were not heard."
    uneven = Amiss(missed=frozenset({(1, "2&", 1), (1, "2&", 2), (1, "2", 1)}))
    assert _first(uneven, repeats=2) == "Bar 1: beat 2 and the and of 2 were not heard."


def test_a_late_note_says_what_to_do() -> None:
    """In the verb for what was played."""
    heard, _ = heard_of(RAG, Amiss({(3, "1&", 1): 0.2}), playing=CLAPS)
    assert _said(heard).first == (
        "Bar 3: the and of 1 came late. Say the counts of that bar aloud, then clap it alone, "
        "slowly."
    )
    assert _said(heard).command == (
        "rhythmtrain track rag.toml -o again.flac --bars 3 --speed 0.8 --repeats 4"
    )


def test_many_missing_notes_are_one_sentence() -> None:
    """A bad take is told shortly."""
    gone = frozenset((bar, "2", 1) for bar in (1, 2, 4, 6))
    said = _said(heard_of(LONG, Amiss(missed=gone))[0])
    assert said.first == (
        "Four notes were not heard, in bars 1, 2, 4 and 6. Listen to the slow track first, then "
        "play along with it."
    )
    assert said.others == ()
    assert "--bars" not in said.command


def test_many_late_notes_are_one_sentence_that_says_where_to_begin() -> None:
    """One bar at a time."""
    late = {(1, "2", 1): 0.2, (3, "2", 1): 0.2, (5, "2", 1): -0.2}
    said = _said(heard_of(LONG, Amiss(late))[0])
    assert said.first.startswith(
        "Some notes came early or late, in bars 1, 3 and 5. Begin with bar 1"
    )
    assert "--bars 1 " in said.command


def test_wrong_figures_come_before_missing_notes() -> None:
    """A figure is understood before it is practised."""
    figure = Mistake(2, "1&", "even played dotted", (5,), 1, 1)
    amiss = Amiss(missed=frozenset({(1, "1", 1)}), mistakes=(figure,))
    said = _said(heard_of(RAG, amiss)[0])
    assert said.first == (
        "The even notes in bar 2 were played dotted; if you meant that, leave it."
    )
    assert said.others == ("Bar 1: beat 1 was not heard.",)


@pytest.mark.parametrize(
    ("drift", "timing", "words"),
    [
        (4.0, "click", "You got faster"),
        (-4.0, "click", "You got slower"),
        (4.0, "free", "It stands"),
    ],
)
def test_running_away_is_said_only_where_something_kept_time(
    drift: float, timing: str, words: str
) -> None:
    """Free playing may move."""
    said = _said(_with(heard_of(RAG)[0], drift_percent=drift, timing=timing))
    assert said.first.startswith(words)


def test_unevenness_all_through_is_said_and_one_slip_is_not_unevenness() -> None:
    """Measured in the middle of the notes."""
    uneven = {spot: (-1) ** (number // 2) * 0.052 for number, spot in enumerate(SPOTS)}
    heard, _ = heard_of(LONG, Amiss(uneven))
    assert _said(heard).first.startswith("It was a little uneven all through")
    assert _said(_with(heard, timing="free")).first.startswith("It stands")
    slip, _ = heard_of(LONG, Amiss({SPOTS[3]: 0.7}))
    assert not any("uneven" in line for line in _said(slip).lines)
    silent = frozenset(SPOTS)
    assert _said(heard_of(LONG, Amiss(missed=silent))[0]).first.startswith(
        "32 notes were not heard"
    )


def test_what_was_too_many_is_counted_in_the_word_for_it() -> None:
    """And is told last; what came between the repeats is not told at all."""
    extras = (Extra(3.0, 1, "2"), Extra(4.0, 3, "1"), Extra(9.0, 0, "1"))
    heard, _ = heard_of(RAG, Amiss(extras=extras), playing=CLAPS)
    assert _said(heard).first == "Two claps too many were heard, in bars 1 and 3."
    one, _ = heard_of(RAG, Amiss(extras=extras[:1]))
    assert _said(one).first == "One note too many was heard, in bar 1."


def test_an_upbeat_is_practised_with_the_bar_it_leads_to() -> None:
    """A track of two eighths alone helps nobody."""
    passage = passage_of("2 & | 1 2 | 1 2 | 1")
    said = _said(heard_of(passage, Amiss({(0, "2", 1): 0.2}))[0])
    assert said.first.startswith("The upbeat: beat 2 came late.")
    assert "--bars 0-1" in said.command


@pytest.mark.parametrize(
    ("name", "typed"), [("off-beats", "off-beats"), ("my rag.toml", '"my rag.toml"')]
)
def test_the_command_can_be_copied(name: str, typed: str) -> None:
    """Names with blanks in them too."""
    assert f"track {typed} -o" in advice(heard_of(RAG)[0], name=name).command


def test_all_bars_amiss_keep_the_excerpt_that_was_asked_for() -> None:
    """The next track is of what is being practised, not of the whole drill."""
    heard, _ = heard_of(passage_of("1 & 2 &"), Amiss(missed=frozenset({(1, "2", 1)})))
    assert "--bars 17 " in _said(heard, bars="17").command


def test_labels_stand_once() -> None:
    """Good, First, Then, and lines under Then without a word."""
    said = Advice("Well.", "One.", ("Two.", "Three."), "x")
    assert said.labelled == (("Good", "Well."), ("First", "One."), ("Then", "Two."), ("", "Three."))
    assert Advice("", "One.", (), "x").labelled == (("First", "One."),)


@given(
    late_s=st.dictionaries(st.sampled_from(SPOTS), st.floats(-0.5, 0.5), max_size=20),
    missed=st.frozensets(st.sampled_from(SPOTS), max_size=32),
    looks_like=st.sampled_from([True, False, None]),
)
def test_advice_is_never_empty_long_or_in_milliseconds(
    late_s: dict[Spot, float], missed: frozenset[Spot], *, looks_like: bool | None
) -> None:
    """Whatever was played: one thing first, at most three others, no figures to fret about."""
    heard, _ = heard_of(LONG, Amiss(late_s, missed=missed))
    said = _said(_with(heard, looks_like=looks_like))
    assert said.first
    assert all(said.lines)
    assert len(said.others) <= MOST_OTHERS
    assert not any(" ms" in line for line in said.lines)
    assert all(line[0].isupper() or line[0].isdigit() for line in said.lines)
    assert said.command.startswith("rhythmtrain ")
