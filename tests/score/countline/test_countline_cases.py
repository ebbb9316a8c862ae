"""One table of rhythms, read from text to notes and written from notes to text."""

from dataclasses import replace

import pytest

from rhythmtrain.score.countline.countline import read_bars, read_rhythm
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import TempoMark, notes_of
from rhythmtrain.units import Bpm

# Canonical text, metre, way of counting, and every note: bar, count, onset and length in quarters.
CASES = [
    ("1 2 | 1 2", "2/4", None, "1:1@0+1 1:2@1+1 2:1@2+1 2:2@3+1"),
    ("1 & 2 & | 1 (2)", "2/4", None, "1:1@0+1/2 1:1&@1/2+1/2 1:2@1+1/2 1:2&@3/2+1/2 2:1@2+1"),
    ("1 e [&] a 2", "2/4", None, "1:1@0+1/4 1:1e@1/4+1/2 1:1a@3/4+1/4 1:2@1+1"),
    ("1 la li 2", "2/4", None, "1:1@0+1/3 1:1la@1/3+1/3 1:1li@2/3+1/3 1:2@1+1"),
    ("(1) & (2)", "2/4", None, "1:1&@1/2+1/2"),
    ("1 [2] | [1 2] | (1) 2", "2/4", None, "1:1@0+4 3:2@5+1"),
    ("1 [2] & | [1] 2", "2/4", None, "1:1@0+3/2 1:2&@3/2+3/2 2:2@3+1"),
    ("1 2 | rest 3 | 1 (2)", "2/4", None, "1:1@0+1 1:2@1+1 5:1@8+1"),
    ("1 [2] 2+1/5", "2/4", None, "1:1@0+6/5 1:2+1/5@6/5+4/5"),
    ("1 la li 2 li", "6/8", None, "1:1@0+1/2 1:1la@1/2+1/2 1:1li@1+1/2 1:2@3/2+1 1:2li@5/2+1/2"),
    ("1 ta la ta li ta 2", "6/8", None,
     "1:1@0+1/4 1:1ta@1/4+1/4 1:1la@1/2+1/4 1:1lata@3/4+1/4 1:1li@1+1/4 1:1lita@5/4+1/4 1:2@3/2+3/2"),
    ("1 1+1/2 2", "6/8", None, "1:1@0+3/4 1:1lata@3/4+3/4 1:2@3/2+3/2"),
    ("1 2 & 3 4 5 6", "6/8", "eighth",
     "1:1@0+1/2 1:2@1/2+1/4 1:2&@3/4+1/4 1:3@1+1/2 1:4@3/2+1/2 1:5@2+1/2 1:6@5/2+1/2"),
    ("1 la li 2 &", "3+2/8", "group",
     "1:1@0+1/2 1:1la@1/2+1/2 1:1li@1+1/2 1:2@3/2+1/2 1:2&@2+1/2"),
    ("1 & 2", "2/2", None, "1:1@0+1 1:1&@1+1 1:2@2+2"),
    ("4 & | 1 2 3 4", "4/4", None, "0:4@-1+1/2 0:4&@-1/2+1/2 1:1@0+1 1:2@1+1 1:3@2+1 1:4@3+1"),
    ("(4) & | 1 [2 3 4]", "4/4", None, "0:4&@-1/2+1/2 1:1@0+4"),
    ("4+1/2 | 1 [2 3 4]", "4/4", None, "0:4&@-1/2+1/2 1:1@0+4"),
    ("(1) & 2", "2/4", None, "1:1&@1/2+1/2 1:2@1+1"),
    ("1 2 | metre 3/4 1 2 3", "2/4", None, "1:1@0+1 1:2@1+1 2:1@2+1 2:2@3+1 2:3@4+1"),
]  # fmt: skip


def _notes(text: str, metre: Metre) -> str:
    bars = read_bars(text, metre)
    return " ".join(f"{n.bar}:{n.count}@{n.at}+{n.length}" for n in notes_of(bars))


@pytest.mark.parametrize(("text", "metre", "beat", "notes"), CASES)
def test_what_is_written_is_read_as_these_notes(
    text: str, metre: str, beat: str | None, notes: str
) -> None:
    """A player who types a rhythm hears exactly that rhythm."""
    assert _notes(text, Metre.parse(metre, beat=beat)) == notes


@pytest.mark.parametrize(("text", "metre", "beat", "notes"), CASES)
def test_the_same_bars_are_written_as_this_text(
    text: str, metre: str, beat: str | None, notes: str
) -> None:
    """What the tool writes can be kept, compared and read by the next person."""
    assert write_bars(read_bars(text, Metre.parse(metre, beat=beat))) == text
    assert notes


# Another spelling, the metre, and the canonical one.
SPELLINGS = [
    ("1&2", "2/4", "1 & 2"),
    ("1e&a 2e&a", "2/4", "1 e & a 2 e & a"),
    ("1lali2", "2/4", "1 la li 2"),
    ("1lata 2", "6/8", "1 la ta 2"),
    ("1 trip let 2", "2/4", "1 la li 2"),
    ("1triplet 2", "2/4", "1 la li 2"),
    ("1 + 2 +", "2/4", "1 & 2 &"),
    ("1+2+", "2/4", "1 & 2 &"),
    ("1", "4/4", "1 [2 3 4]"),
    ("(1)", "4/4", "(1 2 3 4)"),
    ("1 [&] [2]", "2/4", "1 [& 2]"),
    ("1 2 | 2", "2/4", "1 2 | [1] 2"),
    ("1 (2) | 2", "2/4", "1 (2) | (1) 2"),
    ("1   2\n|\t1 2 # the end\n", "2/4", "1 2 | 1 2"),
    ("1 2 |", "2/4", "1 2"),
    ("# märz\n1 2", "2/4", "1 2"),
    ("1>&", "2/4", "1> & [2]"),
    ("rest 2 | rest 3", "2/4", "rest 5"),
    ("rest2", "2/4", "rest 2"),
    ("1 2 :|x3 1 2", "2/4", "1 2 :| x3 1 2"),
    ("1 2 :| x2 1 2", "2/4", "1 2 :| 1 2"),
    ("tempo 96.0 1 2", "2/4", "tempo 96 1 2"),
    ("pause tempo 80 1 2", "2/4", "tempo 80 pause 1 2"),
    ("metre 2/4 1 2", "2/4", "1 2"),
    ('"B   piano  has it" 1 2', "2/4", '"B piano has it" 1 2'),
    ("2+1/2 (2+3/4)", "2/4", "2+1/2 (a)"),
    ("1 2+1/2", "2/4", "1 [2] &"),
]


@pytest.mark.parametrize(("text", "metre", "canonical"), SPELLINGS)
def test_other_spellings_become_the_one(text: str, metre: str, canonical: str) -> None:
    """People type as they speak; the file keeps one spelling."""
    given = Metre.parse(metre)
    assert write_bars(read_bars(text, given)) == canonical
    assert read_bars(canonical, given) == read_bars(text, given)


def test_marks_stand_at_the_bar_they_were_written_at() -> None:
    """A tempo, a pause and a landmark belong to one bar, also before a long rest."""
    text = '1 2 | tempo 96 to 72 over 4 bars pause "B" "piano has it" rest 4 | tempo 60 1 2'
    bars = read_bars(text, Metre.parse("2/4"))
    assert bars[1].tempo == TempoMark(Bpm(96), Bpm(72), 4)
    assert bars[1].pause
    assert bars[1].landmarks == ("B", "piano has it")
    assert all(bar.tempo is None and not bar.pause and not bar.landmarks for bar in bars[2:5])
    assert bars[5].tempo is not None
    assert write_bars(bars) == text


def test_an_accent_is_kept_on_its_note_alone() -> None:
    """An accent is part of the rhythm one hears."""
    (bar,) = read_bars("1 &> 2", Metre.parse("2/4"))
    assert [place.accent for place in bar.places] == [False, True, False]


def test_a_rest_inside_a_beat_right_after_a_note_brings_a_gentle_hint() -> None:
    """Brackets are easily mixed up; nothing is refused, the other way is shown."""
    reading = read_rhythm("1 2 |\n1 (&) 2", Metre.parse("2/4"))
    (hint,) = reading.hints
    assert str(hint) == "bar 2: (&) prints a rest; for a held note write [&]"
    assert (hint.line, hint.column) == (2, 4)


@pytest.mark.parametrize("text", ["1 (2)", "(1) & (2)", "1 [&] 2", "(1 &) 2", "1 [e] (&)"])
def test_ordinary_rests_bring_no_hint(text: str) -> None:
    """A hint at every rest would be noise."""
    assert read_rhythm(text, Metre.parse("2/4")).hints == ()


def test_the_first_bar_may_be_numbered_as_printed() -> None:
    """Bar 17 in the part is bar 17 on the screen."""
    bars = read_bars("1 2 | 1 2", Metre.parse("2/4"), first_number=17)
    assert [bar.number for bar in bars] == [17, 18]
    bars = read_bars("2 | 1 2", Metre.parse("2/4"), first_number=16)
    assert [bar.number for bar in bars] == [16, 17]


def test_the_way_of_counting_goes_on_through_a_change_of_metre_where_it_fits() -> None:
    """How one counts is said once for the whole drill."""
    text = "1 2 3 4 5 6 | metre 2/4 1 2 3 4 | metre 3/8 1 2 3"
    bars = read_bars(text, Metre.parse("6/8", beat="eighth"))
    assert [len(bar.metre.beats) for bar in bars] == [6, 4, 3]
    bars = read_bars(
        "1 2 | metre 5/8 1 2 3 4 5 | metre 2/4 1 2", Metre.parse("2/4", beat="quarter")
    )
    assert [len(bar.metre.beats) for bar in bars] == [2, 5, 2]


def test_long_rhythms_are_broken_between_bars() -> None:
    """A canonical text is read by people too."""
    bars = read_bars(" | ".join(["1 e & a 2 e & a"] * 20), Metre.parse("2/4"))
    lines = write_bars(bars).split("\n")
    assert len(lines) > 1
    assert max(map(len, lines)) <= 88
    assert all(line.endswith("|") for line in lines[:-1])


def test_a_bar_with_more_words_than_it_takes_is_written_with_the_first_of_them() -> None:
    """Verses under the first bar of a score are no reason to refuse its rhythm."""
    (bar,) = read_bars("1 2", Metre.parse("2/4"))
    said = tuple(f"verse {number}" for number in range(30))
    (again,) = read_bars(write_bars((replace(bar, landmarks=said),)), Metre.parse("2/4"))
    assert again.landmarks == said[:20]
