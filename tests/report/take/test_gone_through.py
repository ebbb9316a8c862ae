"""How a take went through the passage comes before single notes: leaps, stops, what was not played."""

from dataclasses import replace
from typing import Any

import pytest

from rhythmtrain.assess.findings import Mistake, Try
from rhythmtrain.report.take.advice import Advice, advice
from rhythmtrain.report.take.gone_through import not_played, off_the_beat
from rhythmtrain.report.take.playing import Playing
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.small_print import story
from tests.simulate.heard import Amiss, heard_of, passage_of

RAG = passage_of("1 & 2 & | 1 & 2 | 1 & 2 & | 1 2 & | 1 & 2 & | 1 2", tempo=72)
CLAPS = Playing("clap", "clap")


def _heard(amiss: Amiss | None = None, **changes: Any) -> Heard:
    heard = heard_of(RAG, amiss or Amiss(), playing=CLAPS)[0]
    return replace(heard, findings=replace(heard.findings, **changes))


def _said(heard: Heard) -> Advice:
    return advice(heard, name="rag")


def _gone(*bars: int) -> Amiss:
    notes = heard_of(RAG)[0].findings.notes
    return Amiss(unchecked=frozenset((n.bar, n.count, 1) for n in notes if n.bar in bars))


def _part(first: int, last: int) -> tuple[Try, ...]:
    return (Try(first, last, 2.0, complete=False),)


def test_a_bar_left_out_is_said_before_the_notes_that_it_cost() -> None:
    """Three notes of bar 5 are missing because bar 4 was left out, not the other way round."""
    missed = Amiss(missed=frozenset({(5, "1", 1), (5, "1&", 1)}))
    heard = _heard(missed, remarks=("from bar 5 on everything came one bar early",))
    said = _said(heard)
    assert said.first.startswith("From bar 5 on everything came one bar early. Count on aloud")
    assert "--bars 4-5" in said.command
    assert len(said.others) == 1
    assert story(heard.findings) == ()


def test_who_stopped_and_began_again_is_not_sent_on() -> None:
    """Every note was there in the end; what is to learn is to go on."""
    said = _said(_heard(remarks=("stopped in bar 3, began again at bar 2",)))
    assert said.first == (
        "You stopped in bar 3 and began again at bar 2. Take it slower, and go on whatever happens."
    )
    assert "--bars 3 --speed 0.8" in said.command


@pytest.mark.parametrize(
    ("gone", "tries", "words"),
    [
        ((5, 6), _part(1, 4), "Go on to the end, whatever happens: bars 5 and 6 were not played."),
        ((1,), _part(2, 6), "Begin at the beginning: bar 1 was not played."),
        ((1, 6), _part(2, 5), "Go on to the end, whatever happens: bars 1 and 6 were not played."),
    ],
)
def test_a_part_of_the_passage_does_not_stand_at_its_tempo(
    gone: tuple[int, ...], tries: tuple[Try, ...], words: str
) -> None:
    """Who left off in bar 4 is not sent to the instrument."""
    assert _said(_heard(_gone(*gone), tries=tries)).first == words


def test_what_was_hidden_or_lost_is_not_said_to_be_unplayed() -> None:
    """A note under the loudspeaker may have been clapped; who was lost is told so otherwise."""
    whole = (Try(1, 6, 2.0, complete=True),)
    assert not_played(_heard(_gone(6), tries=whole)) == ()
    assert not_played(_heard(_gone(6), tries=_part(1, 5), remarks=("lost in bar 6",))) == ()
    assert not_played(_heard(_gone(3), tries=_part(1, 6))) == ()
    assert not_played(_heard(_gone(1, 2, 3, 4, 5, 6), tries=_part(1, 6))) == ()


def _late_off_beats(late_s: float) -> Amiss:
    notes = heard_of(RAG)[0].findings.notes
    return Amiss({(n.bar, n.count, 1): late_s for n in notes if "&" in n.count})


@pytest.mark.parametrize(("late_s", "side"), [(0.12, "late"), (-0.12, "early")])
def test_all_notes_off_the_beat_together_are_one_habit(late_s: float, side: str) -> None:
    """It is not unevenness, and no note of it is alone at fault."""
    (words, bars), *more = off_the_beat(_heard(_late_off_beats(late_s)))
    assert words.startswith(f"The claps off the beat came {side} all through, against those on it")
    assert (bars, more) == ((), [])


def test_a_little_of_it_or_some_of_it_is_not_said() -> None:
    """Honest players lie closer, and two late notes are two late notes."""
    assert list(off_the_beat(_heard(_late_off_beats(0.03)))) == []
    assert list(off_the_beat(_heard(Amiss({(1, "1&", 1): 0.2, (3, "2&", 1): 0.2})))) == []
    figure = Mistake(1, "1", "even played swung", (0, 1), 9, 9)
    assert list(off_the_beat(_heard(_late_off_beats(0.12), mistakes=(figure,)))) == []
