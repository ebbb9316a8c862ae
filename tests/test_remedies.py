"""What can be done is a value in its sentence: worded by each edge, whatever became of the sentence."""

from collections.abc import Callable, Mapping

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.remedies import (
    CLOSES,
    OPENS,
    PARTS,
    Wording,
    all_worded,
    holds_remedies,
    option,
    remedy,
    worded,
)
from rhythmtrain.report.lines import WIDTH, hanging, table

REMEDIES: Mapping[str, str] = {
    "see": "; see it with `look {0}`",
    "next": "To type next:\n  {0}",
    "measure": "measure the way from the loudspeaker to the microphone once, in a quiet room",
    "between": "from {0} to {1}",
}
TYPED = Wording(REMEDIES, "--{}".format)
HERE = Wording({"see": "", "next": "", "measure": "press Measure", "between": "{0}-{1}"}, str.upper)


def typed(sentence: str) -> str:
    """Return ``sentence`` as one edge says it."""
    return worded(sentence, TYPED)


def here(sentence: str) -> str:
    """Return ``sentence`` as the other says it."""
    return worded(sentence, HERE)


def test_each_edge_says_the_same_thing_its_own_way() -> None:
    """Who clicks is not told to type, and the other way round."""
    said = f"no metre: give {option('tempo')}, or check {option('metre', '2/4')}{remedy('see', 'a.b')}."
    assert typed(said) == "no metre: give --tempo, or check --metre 2/4; see it with `look a.b`."
    assert here(said) == "no metre: give TEMPO, or check METRE 2/4."


def test_what_can_be_done_survives_being_put_into_another_sentence() -> None:
    """An error is told with the file's name before it, and with the take's before that."""
    refused = RequestError(f"give {option('bars')}")
    told = RequestError(f"piano.wav: {refused}")
    assert typed(f"not kept: {told}") == "not kept: piano.wav: give --bars"


def test_a_sentence_without_any_is_left_alone() -> None:
    """Also one in which somebody wrote what looks like an option, or a brace."""
    for said in ("", "two -- three {0} --tempo", "50 % {"):
        assert not holds_remedies(said)
        assert typed(said) == said


@given(st.text(), st.text())
def test_whatever_it_is_done_with_is_said_as_it_is(first: str, second: str) -> None:
    """A file's name may hold braces, or the very characters that a place is kept with."""
    kept = [
        "".join(letter for letter in text if letter not in OPENS + PARTS + CLOSES)
        for text in (first, second)
    ]
    assert typed(f"go {remedy('between', first, second)}!") == f"go from {kept[0]} to {kept[1]}!"


@given(st.text(st.sampled_from(f"{OPENS}{PARTS}{CLOSES}see option")))
def test_what_nobody_put_there_stops_nothing(text: str) -> None:
    """A file called like this is still named in the sentence that refuses it."""
    assert isinstance(typed(text), str)


@pytest.mark.parametrize("place", [remedy("nothing"), remedy("see"), remedy("option")])
def test_what_an_edge_has_no_word_for_stays(place: str) -> None:
    """Rather than a traceback."""
    assert typed(f"a {place}") == f"a {place}"


def test_a_whole_document_is_worded() -> None:
    """Sentences lie deep in an answer; numbers and names stay."""
    answer = {"said": [{"why": option("bars")}, 7, None], "at": (1.5, True), "bars": option("at")}
    assert all_worded(answer, here) == {
        "said": [{"why": "BARS"}, 7, None],
        "at": [1.5, True],
        "bars": "AT",
    }


LONG = (
    "Nothing can be told of it before the delay is known, so for now it is left out of the table: "
)


@pytest.mark.parametrize("words", [typed, here])
@pytest.mark.parametrize("before", ["", "x ", "x" * 14 + " ", "some words more, to move the end. "])
def test_a_text_is_laid_out_for_the_words_that_are_said(
    before: str, words: Callable[[str], str]
) -> None:
    """As if they had been known when its lines were broken."""
    long = f"{before}{LONG}{remedy('measure')}, then {option('bars', '1-4')} again and again."

    def laid(sentence: str) -> str:
        rows = [("bar 3, the and of 2", sentence), ("bar 4, 1", "not  heard")]
        blocks = [hanging("First", sentence), table(rows), hanging("", sentence, indent=0)]
        return "\n\n".join([*blocks, "a  table  of  mine\n"])

    told = Told(laid(long), {"why": long}, warnings=(long,), failure=long).worded(words)
    said = words(long)
    assert told == Told(laid(said), {"why": said}, warnings=(said,), failure=said)
    assert max(len(line) for line in told.text.split("\n")) <= WIDTH


def test_a_command_is_laid_out_in_one_piece() -> None:
    """So that it can be copied."""
    command = f"rhythmtrain clap towpath-entry --from mic:loopback {'--bars 10-14 ' * 5}".strip()
    told = Told(f"Good.\n\n{remedy('next', command)}", {})
    assert told.worded(typed).text == f"Good.\n\nTo type next:\n  {command}"
    assert told.worded(here).text.rstrip() == "Good."
