"""How long notes were held, in words."""

from dataclasses import replace

import pytest

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.held_as import HeldAs, LengthFinding
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard as Onset
from rhythmtrain.capture.take import Take
from rhythmtrain.report.take.advice import advice
from rhythmtrain.report.take.document import check_json
from rhythmtrain.report.take.held_rows import held_in_words, held_rows
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.reading import findings_of
from rhythmtrain.report.take.small_print import LENGTHS, LENGTHS_SOME, small_print
from rhythmtrain.score.drill.drill import read_drill
from rhythmtrain.timing.timeline import lay_out

DRILL = 'title = "Long"\nmetre = "4/4"\ntempo = 80\nrhythm = """1 2 3 4 | 1 [2] [3] (4)"""\n'


def heard(*lengths: LengthFinding) -> Heard:
    """Return a take of which these lengths are known."""
    passage = read_drill(DRILL, name="long.toml").passage
    assert passage is not None
    timeline = lay_out(passage)
    onsets = tuple(Onset(timeline.seconds(note.at)) for note in timeline.notes)
    findings = check_take(timeline, Take("midi", "take", onsets, 9.0), Settings())
    return Heard(replace(findings, lengths=lengths), passage, ())


def length(held: float, verdict: HeldAs, *, repeat: int = 1, bar: int = 2) -> LengthFinding:
    """Return the note of three beats in bar 2, held so long."""
    return LengthFinding(bar, "1", repeat, 3.0, held, bar == 2, verdict)


@pytest.mark.parametrize(
    ("verdict", "held", "written", "words"),
    [
        (HeldAs.CUT_SHORT, 2.1, 3.0, "held two of three beats, before the rest"),
        (HeldAs.CUT_SHORT, 0.1, 2.0, "held half a beat of two beats, before the rest"),
        (HeldAs.CUT_SHORT, 2.4, 4.0, "held two and a half of four beats, before the rest"),
        (HeldAs.HELD_ON, 3.1, 2.0, "held on into the rest, three beats instead of two"),
    ],
)
def test_a_length_is_said_in_beats(
    verdict: HeldAs, held: float, written: float, words: str
) -> None:
    """As a teacher would: to the half beat."""
    assert held_in_words(verdict, held, written, before_rest=True) == words


def test_each_place_is_told_once_with_how_often() -> None:
    """Over the repeats, and the rests first."""
    short, fine = HeldAs.CUT_SHORT, HeldAs.AS_WRITTEN
    rows = held_rows(
        heard(
            length(2.0, short, bar=1),
            length(2.0, short),
            length(3.0, fine, repeat=2),
            length(1.9, short, repeat=3),
        )
    )
    assert [(row.place, row.what) for row in rows] == [
        ("bar 2, beat 1", "held two of three beats, before the rest, twice in three"),
        ("bar 1, beat 1", "held two of three beats"),
    ]


def test_what_is_to_be_held_longer_is_said_to_do_first_where_all_else_was_right() -> None:
    """Nobody is sent to the next tempo with a note cut off."""
    told = advice(heard(length(2.0, HeldAs.CUT_SHORT)), name="long.toml")
    assert told.first == "Bar 2, beat 1: held two of three beats, before the rest."
    assert "--bars 2 " in told.command
    assert "was right at its tempo" in advice(heard(), name="long.toml").first


def test_what_was_not_measured_is_said_not_to_be() -> None:
    """And where something was, the small print says where."""
    assert LENGTHS in small_print(heard())
    assert LENGTHS_SOME in small_print(heard(length(3.0, HeldAs.AS_WRITTEN)))
    assert held_rows(heard(length(3.0, HeldAs.AS_WRITTEN))) == ()


def test_lengths_travel_in_the_document() -> None:
    """And come back from it."""
    told = heard(length(2.0, HeldAs.CUT_SHORT))
    document = check_json(told.findings, told.passage, source="midi", onsets_s=(), advice=())
    assert document["lengths"][0]["verdict"] == "cut short"
    assert findings_of(document, tempo_found=False).lengths == told.findings.lengths
