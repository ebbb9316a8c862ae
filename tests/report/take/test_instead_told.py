"""Whoever clapped the beat is told so in plain words, with one bar to begin with."""

from dataclasses import replace

import pytest

from rhythmtrain.assess.clapped_rows import Instead, Row
from rhythmtrain.report.take.advice import Advice, advice
from rhythmtrain.report.take.document import check_json
from rhythmtrain.report.take.instead_told import row_in_words
from rhythmtrain.report.take.playing import Playing
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.reading import findings_of
from rhythmtrain.report.take.text import check_text
from rhythmtrain.score.metre import Metre
from tests.simulate.heard import heard_of, passage_of

RAG = passage_of("2 & | 1 2 | 1 e [&] a 2 & | (1) & a 2 | 1 (2)", tempo=72)
BEAT = Instead(Row.BEAT, 1.0, 0.012, (0, 2, 3, 4))


def _heard(instead: Instead, verb: str = "clap") -> Heard:
    heard = heard_of(RAG)[0]
    findings = replace(heard.findings, looks_like=False, instead=instead)
    return replace(heard, findings=findings, playing=Playing(verb, verb))


def _said(instead: Instead, *, live: str | None = None) -> Advice:
    return advice(_heard(instead), name="rag", live=live)


def test_the_beat_is_told_with_a_bar_to_begin_with_and_its_counts() -> None:
    """One thing to do, in counts that one can say; the upbeat is no bar to learn it by."""
    said = _said(BEAT)
    assert said.first == (
        "You clapped the beat, not the rhythm. Keep the beat in your foot. Begin with bar 2: say its "
        "counts aloud, and clap only on beat 1, the e of 1, the a of 1, beat 2 and the and of 2."
    )
    assert said.command == "rhythmtrain track rag -o again.flac --bars 2 --speed 0.8 --repeats 4"
    assert said.others == ()


def test_after_a_live_take_it_is_clapped_along_with_that_bar_slower() -> None:
    """What one types next begins where one sits."""
    assert _said(BEAT, live=" --from mic").command == (
        "rhythmtrain clap rag --from mic --bars 2 --speed 0.8 --repeats 4"
    )


def test_a_steady_beat_is_praised_and_an_unsteady_one_is_not() -> None:
    """It went well as far as it went, where that is true."""
    assert _said(BEAT).praise == "You kept a steady beat."
    assert _said(replace(BEAT, spread_s=0.060)).praise == ""
    assert _said(replace(BEAT, row=Row.SPLIT)).praise == ""


def test_what_is_only_likelier_is_said_to_sound_so() -> None:
    """Nothing is called certain that is not."""
    assert _said(replace(BEAT, sure=False)).first.startswith(
        f"This sounds more like the beat than like the rhythm of {RAG.title}. Keep the beat"
    )


@pytest.mark.parametrize(
    ("verb", "words"),
    [("play", "You played what the accompanist plays"), ("sing", "You sang what the accompanist")],
)
def test_the_words_are_of_what_was_done(verb: str, words: str) -> None:
    """A clarinettist does not clap, and the accompanist's part is no beat to keep in the foot."""
    first = advice(_heard(replace(BEAT, row=Row.CUE), verb), name="rag").first
    assert first.startswith(words)
    assert "foot" not in first


@pytest.mark.parametrize(
    ("row", "metre", "words"),
    [
        (Row.SPLIT, "4/4", "every eighth"),
        (Row.SPLIT, "6/8", "every eighth"),
        (Row.SPLIT, "2/2", "every quarter"),
        (Row.OTHER, "4/4", "every other beat"),
        (Row.OTHER, "3/4", "the first beat of every bar"),
    ],
)
def test_a_row_is_named_in_the_note_values_of_its_metre(row: Row, metre: str, words: str) -> None:
    """Half a beat is an eighth in one metre and a quarter in the next."""
    assert row_in_words(row, Metre.parse(metre)) == words


def test_no_single_note_is_told_of_a_rhythm_that_was_not_tried() -> None:
    """A table of eight notes not heard would only discourage."""
    heard = _heard(BEAT)
    text = check_text(heard, advice(heard, name="rag"), take="beat.wav")
    assert "What was heard" not in text
    assert "You clapped the beat" in text


def test_it_is_read_back_from_the_document_and_an_older_one_has_nothing_of_it() -> None:
    """The history shows a take as it was told."""
    heard = _heard(BEAT)
    document = check_json(heard.findings, RAG, source="text", onsets_s=(), advice=())
    assert document["clapped_instead"]["what"] == "beat"
    assert findings_of(document, tempo_found=False).instead == BEAT
    del document["clapped_instead"]
    assert findings_of(document, tempo_found=False).instead is None
