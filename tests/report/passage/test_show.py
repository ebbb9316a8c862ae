"""The passage in text: aligned, narrow enough, and read at once."""

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.report.passage.show import show_text
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import EntryMark, Kind, Passage
from rhythmtrain.units import Bpm

# A row of music begins with a bar line, or goes on with a bar broken at a beat.
ROWS = ("  |", "     ", "    (", "    [")
TOWPATH = """\
Towpath Rag
Sixteenths inside one beat.

2/4, quarter = 72, four bars

  bar 1 *                       bar 2 *
  |  16th  8th     16th  2 8ths |  8th rest  2 16ths  quarter |
  |  1     e  [&]  a     2   &  | (1)        &    a   2       |

  bar 3 *                       bar 4
  |  8th  quarter  8th          |  quarter  quarter rest      |
  |  1    &   [2]  &            |  1       (2)                |

  ( ) count it, keep silent    [ ] count it, hold on    * hard, see below

Where it is hard
  Bar 1: the e of 1 is held over the and of 1.
  Bar 2: starts off the beat, on the and of 1.
  Bar 3: the and of 1 ties over beat 2.
"""


def passage(
    text: str,
    metre: str = "4/4",
    *,
    tempo: float = 60,
    beat: str | None = None,
    title: str = "Ferry",
    about: str = "",
) -> Passage:
    """Return the passage of a count line."""
    bars = read_bars(text, Metre.parse(metre, beat=beat))
    return Passage(title, Bpm(tempo), bars, about=about)


def with_cue(text: str, cue: str) -> Passage:
    """Return a passage in 4/4 with the accompanist's rhythm beside it."""
    metre = Metre.parse("4/4")
    return Passage("Ferry", Bpm(60), read_bars(text, metre), cue=read_bars(cue, metre))


def rows(text: str) -> list[str]:
    """Return the drawn rows of a shown passage, in order."""
    return [line for line in text.splitlines() if line.startswith(ROWS) and "bar " not in line]


def notes(text: str) -> list[list[str]]:
    """Return the note values of each drawn line of music."""
    return [re.split(r"\s{2,}| [|] *", row.strip(" |:")) for row in rows(text)[::2]]


def test_a_passage_is_shown_whole() -> None:
    """Values over counts, silence and holds in brackets, what is hard in words."""
    text = "1 e [&] a 2 & | (1) & a 2 | 1 & [2] & | 1 (2)"
    whole = passage(text, "2/4", tempo=72, title="Towpath Rag", about="Sixteenths inside one beat.")
    assert show_text(whole) == TOWPATH


def test_the_other_usage_names_crotchets_throughout() -> None:
    """Who learned crotchets meets no quarter."""
    text = show_text(passage("1 2 & 3 4 | metre 6/8 1 ta la 2 [li]", tempo=60), british=True)
    assert "crotchet = 60" in text
    assert "2 quavers" in text
    assert "semiquaver" in text
    for word in ("quarter", "eighth", "8th", "16th", "half"):
        assert word not in text


def test_a_long_rest_is_one_line() -> None:
    """Nobody reads eight empty bars, everybody must know that there are eight."""
    text = show_text(passage("rest 8 | (1 2) & [3] 4"))
    assert "  bars 1-8: rest, 8 bars\n" in text
    assert len(rows(text)) == 2
    assert "Bar 9: you come in on the and of 2, after eight bars' rest." in text


def test_marks_divide_a_long_rest() -> None:
    """A landmark in the rest is what one counts by."""
    text = show_text(passage('rest 4 | "piano has the tune" rest 3 | 1 2 3 4 | rest 1 | 1'))
    assert "  bars 1-4: rest, 4 bars\n" in text
    assert '  bars 5-7: rest, 3 bars, "piano has the tune"\n' in text
    assert "rest" in notes(text)[0]
    assert "Bar 8: you come in on beat 1, after seven bars' rest." in text
    assert "Bar 10: you come in on beat 1, after one bar's rest." in text


def test_repeated_rests_say_so() -> None:
    """A repeat inside silence is counted too."""
    text = show_text(passage("1 |: rest 2 :| x3 1 2 3 4 |: rest 3 :|"))
    assert "bars 2-3: rest, 2 bars, a repeat begins, the repeat ends, played 3 times" in text
    assert "bars 5-7: rest, 3 bars, a repeat begins, the repeat ends\n" in text


def test_a_bracket_keeps_clear_of_a_repeat_sign() -> None:
    """Dots and a bracket side by side are read as one sign."""
    assert rows(show_text(passage("|: (1) 2 3 4 :|")))[1].startswith("  |: (1) ")


def test_a_repeat_played_often_says_how_often() -> None:
    """Three times is not twice."""
    assert "bar 1  played 3 times" in show_text(passage("|: 1 2 3 4 :| x3 1"))


def test_entries_after_shorter_rests_are_told_in_beats() -> None:
    """The cue in the rest is named: that is what one listens for."""
    text = show_text(with_cue("1 (2 3) & 4 | 1 2 3 4", "(1) 2 3 4 | rest 1"))
    said = "Bar 1: you come in on the and of 3, after one and a half beats of rest."
    assert f"{said} The cue in bar 1 is 2 3." in " ".join(text.split())


def test_the_cue_named_is_the_last_before_the_entry() -> None:
    """After eight bars one listens for the bar before the entry."""
    shown = show_text(with_cue("rest 8 | 1 2 3 4", "1 2 3 4 | rest 6 | 1 2 & [3] 4 | rest 1"))
    assert "The cue in bar 8 is 1 2 2& 4." in " ".join(shown.split())


def test_an_entry_that_the_drill_marks_needs_no_rest() -> None:
    """A teacher may mark any note."""
    bars = read_bars("1 1+1/5 2", Metre.parse("4/4"))
    marks = (EntryMark(1, "1+1/5"), EntryMark(1, "2"))
    text = show_text(Passage("Ferry", Bpm(60), bars, marks=marks))
    assert "Bar 1: you come in on beat 2." in text
    assert "on the place 1/5 after 1." in text


def test_repeats_upbeat_and_endings_are_marked() -> None:
    """What stands over the music on paper stands here."""
    text = show_text(
        passage("4 & |: 1 2 3 4> | 1 2 3 4 :| 1 |: 1 | first time 1 :| second time 1 | 1")
    )
    assert "seven bars and an upbeat, ten bars with the repeats" in " ".join(text.split())
    assert "  upbeat " in text
    assert "|: quarter" in text
    assert ":|" in text
    assert "first time" in text
    assert "second time" in text
    assert "4>" in text
    assert "> accent" in text


def test_changes_of_metre_and_tempo_stand_at_their_bar() -> None:
    """A player sees where the tempo goes before playing there."""
    text = show_text(
        passage("1 2 3 4 | metre 3/4 1 2 3 | tempo 96 to 72 over 2 bars 1 2 3 | pause tempo 50 1")
    )
    assert "bar 2  3/4" in text
    assert "bar 3  quarter = 96 to 72 over 2 bars" in text
    assert "after a pause" in text
    assert "quarter = 50" in text


def test_a_long_landmark_gets_a_line_of_its_own() -> None:
    """A sentence in the part does not push the notes apart."""
    words = "the piano goes on alone with the left hand"
    text = show_text(passage(f'1 2 3 4 | "{words}" tempo 90 1 2 3 4'))
    assert f'  bar 2: "{words}", quarter = 90\n' in text
    assert len(rows(text)) == 4


@pytest.mark.parametrize(
    ("metre", "text", "values"),
    [
        ("4/4", "1 [2] e 3 [4]", ["quarter~16th", "dotted 8th", "half"]),
        ("4/4", "1 2 li [3] 4", ["quarter", "triplet quarter", "triplet 8th~quarter", "quarter"]),
        (
            "4/4",
            "1 1+2/3 2+1/3 3 [4]",
            ["triplet quarter", "triplet quarter", "triplet quarter", "half"],
        ),
        ("4/4", "1 la li 2 3 [4]", ["3 triplet 8ths", "quarter", "half"]),
        ("4/4", "1 2 3 4 & | [1] & 2", ["quarter", "quarter", "quarter", "8th", "8th~"]),
        ("4/4", "(1) e & a (2 3) 4", ["16th rest", "3 16ths", "half rest", "quarter"]),
        ("4/4", "1 (2) e 3 [4]", ["quarter", "16th rest", "dotted 8th", "half"]),
        ("6/8", "1 [2] li", ["dotted quarter~quarter", "8th"]),
        ("6/8", "1 1+1/2 2", ["2 dotted 8ths", "dotted quarter"]),
        ("4/4", "1 1+1/5 1+2/5 1+4/5 2 [3 4]", ["2 quintuplet 16ths"]),
        ("4/4", "1 1+1/11 2 [3 4]", ["1/11 quarter"]),
        ("64/1", "1 [2] 3", ["whole~whole"]),
        ("5/4", "1 [2 3 4 5]", ["whole~quarter"]),
        ("5/4", "1 & [2 3 4 5]", ["8th", "8th~whole"]),
        ("2/4", "1 1+1/16 e [&] 2", ["64th", "dotted 32nd", "dotted 8th"]),
    ],
)
def test_lengths_have_the_names_musicians_write(metre: str, text: str, values: list[str]) -> None:
    """Tied values are tied, tuplets are named, equal notes of a beat are said together."""
    shown = notes(show_text(passage(text, metre, tempo=20)))[0]
    assert shown[: len(values)] == values


def test_a_length_of_many_ties_is_said_in_quarters() -> None:
    """Sixty wholes tied to each other are a number, not a row of names."""
    assert "250 quarters long" in show_text(passage("1 [2] & [3]", "64/1"))
    assert "250 crotchets long" in show_text(passage("1 [2] & [3]", "64/1"), british=True)


def test_a_tie_over_the_bar_line_shows_on_both_sides() -> None:
    """The held note is seen again where one must not play it."""
    first, second = rows(show_text(passage("1 2 3 4 & | [1] & 2")))[0].split("|")[1:3]
    assert first.endswith(" 8th~ ")
    assert second.startswith("  ~8th ")


def test_a_bar_wider_than_a_line_is_broken_at_a_beat() -> None:
    """Sixteenth syncopations in common time take two rows, two beats each."""
    text = show_text(passage("1 e [&] a 2 e [&] a 3 e [&] a 4 e [&] a", tempo=40), british=True)
    lines = [line for line in text.splitlines() if "[&]" in line]
    assert [line.split()[0] for line in lines] == ["|", "3"]
    assert not lines[0].endswith("|")
    assert lines[1].endswith("|")


def test_groups_as_beats_are_said() -> None:
    """How one counts is said once, at the top."""
    assert "each group a beat" in show_text(passage("1 & 2 la li", "2+3/8", beat="group"))
    assert "counted in eighths" in show_text(passage("1 2 3 4 5 6", "6/8", beat="eighth"))
    in_halves = passage("1 & 2 &", "4/4", beat="half")
    assert "counted in halves, half = 60" in show_text(in_halves)
    assert "counted in minims, minim = 60" in show_text(in_halves, british=True)
    assert "2 halves" in show_text(passage("1 & 2", "2/1"))


beats = st.sampled_from(
    ["{}", "({})", "{} &", "({}) &", "{} e & a", "{} la li", "{} e [&] a", "{} a>", "{}+1/7"]
)
lines = st.lists(
    st.one_of(st.lists(beats, min_size=4, max_size=4), st.integers(1, 60)),
    min_size=1,
    max_size=6,
)


def written(bars: list[list[str] | int]) -> str:
    """Return a count line of bars given as beats or as a number of bars' rest."""
    return " | ".join(
        f"rest {bar}"
        if isinstance(bar, int)
        else " ".join(beat.format(number) for number, beat in enumerate(bar, 1))
        for bar in bars
    )


@settings(deadline=None, max_examples=50)
@given(lines, st.text(max_size=200), st.booleans(), st.integers(60, 120))
def test_nothing_is_wider_than_asked(
    bars: list[list[str] | int],
    title: str,
    british: bool,  # noqa: FBT001
    width: int,
) -> None:
    """A terminal breaks wide lines in the middle of a beat."""
    shown = show_text(passage(written(bars), title=title), british=british, width=width)
    assert max(map(len, shown.splitlines()), default=0) <= width


@settings(deadline=None, max_examples=50)
@given(lines, st.booleans())
def test_every_value_stands_over_a_count(
    bars: list[list[str] | int],
    british: bool,  # noqa: FBT001
) -> None:
    """What one plays and what one says lie in one column."""
    drawn = rows(show_text(passage(written(bars)), british=british))
    for above, below in zip(drawn[::2], drawn[1::2], strict=True):
        counts = {match.start() for match in re.finditer(r"[^\s|:()\[\]]+", below)}
        values = {match.start() for match in re.finditer(r"[^\s|:](?:\S| (?=\S))*", above)}
        assert values <= counts


@settings(deadline=None, max_examples=50)
@given(lines)
def test_every_count_is_shown(bars: list[list[str] | int]) -> None:
    """Each bare count is there, whatever line it falls on."""
    whole = passage(written(bars))
    played = sum(place.kind is Kind.PLAYED for bar in whole.bars for place in bar.places)
    shown = " ".join(rows(show_text(whole))[1::2])
    assert len(re.findall(r"[^\s|:]+", re.sub(r"[\[(].*?[\])]", "", shown))) == played
