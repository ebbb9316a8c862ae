"""The drill file: what it says, and that what is written reads back the same."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.errors import DrillError
from rhythmtrain.score.drill.beside import Accompaniment, Model, ScoreReference
from rhythmtrain.score.drill.drill import paths_of, read_drill
from rhythmtrain.score.drill.writer import write_drill
from rhythmtrain.score.passage import Bar, EntryMark, Kind, Passage, notes_of
from rhythmtrain.units import Bpm
from tests.simulate.written_bars import LAW, written_bars

DRILL = '''
title = "Millstream, second strain"
about = "Sixteenths inside one beat."
metre = "2/4"
tempo = 72
rhythm = """
# the tune
1 e [&] a 2 & | rest 2 |
(1 2) & | 1 (&) 2
"""
cue = "rest 1 | 1 2 | 1 2 | 1 | rest 1"
tune = "C5 D5 F5 D5 C5 | Bb4 | - A4+F#4"

[[entry]]
bar = 4
count = "2 &"
prepare = 1.5
say = "breathe"

[[entry]]
bar = 5
count = "1"

[accompaniment]
recording = "millstream.flac"
beats = "maps/millstream.beats"
notes = "piano.musicxml"
meet = [1, 5]

[model]
recording = "slow.flac"
'''


def test_a_drill_says_the_passage_and_how_to_practise_it() -> None:
    """Everything a person wrote is there, in the passage or beside it."""
    drill = read_drill(DRILL, name="millstream.toml")
    passage = drill.passage
    assert passage is not None
    assert drill.title == passage.title == "Millstream, second strain"
    assert passage.tempo == Bpm(72)
    assert passage.about == "Sixteenths inside one beat."
    assert [note.pitches for note in notes_of(passage.bars)][:2] == [(72,), (74,)]
    assert [note.pitches for note in notes_of(passage.bars)][-2:] == [(), (69, 66)]
    assert next((note.bar, note.count) for note in notes_of(passage.cue)) == (2, "1")
    assert passage.marks == (EntryMark(4, "2&", Fraction(3, 2), "breathe"), EntryMark(5, "1"))
    assert drill.accompaniment == Accompaniment(
        "millstream.flac", "maps/millstream.beats", "piano.musicxml", (1, 5)
    )
    assert drill.model == Model("slow.flac")
    assert [str(hint)[:9] for hint in drill.hints] == ["bar 5: (&"]
    assert list(paths_of(drill)) == [
        "millstream.flac",
        "maps/millstream.beats",
        "slow.flac",
        "piano.musicxml",
    ]


def test_the_title_is_the_files_name_where_none_is_given() -> None:
    """A drill in a hurry still has a name on the sheet."""
    drill = read_drill('metre = "2/4"\ntempo = 60\nrhythm = "1 2"', name="evening.toml")
    assert drill.title == "evening"
    assert list(paths_of(drill)) == []


def test_a_drill_may_name_a_part_of_a_score_instead() -> None:
    """A score that is there already is not typed again."""
    text = 'score = "piece.musicxml"\npart = "Clarinet"\nbars = "17-24"\ntempo = 60\n'
    drill = read_drill(text, name="piece.toml")
    assert drill.score == ScoreReference("piece.musicxml", "Clarinet", (17, 24))
    assert drill.passage is None
    assert drill.tempo == Bpm(60)
    assert list(paths_of(drill)) == ["piece.musicxml"]
    numbered = read_drill('score = "piece.mid"\npart = 2\nbars = 5\n', name="piece.toml")
    assert numbered.score == ScoreReference("piece.mid", "2", (5, 5))
    assert read_drill('score = "a.mid"', name="a.toml").score == ScoreReference("a.mid")


@pytest.mark.parametrize("fence", ['"""', "'''"])
@pytest.mark.parametrize("newline", ["\n", "\r\n"])
def test_an_error_in_the_rhythm_names_the_line_of_the_file(fence: str, newline: str) -> None:
    """The editor shows lines of the file, not lines of the rhythm."""
    lines = ['title = "Towpath"', 'metre = "2/4"', "tempo = 72", f"rhythm = {fence}"]
    lines += ["1 2 |", "1 2 |", "1 3", fence]
    with pytest.raises(DrillError) as caught:
        read_drill(newline.join(lines), name="towpath.toml")
    assert str(caught.value) == ("towpath.toml:7, bar 3: beat 3 is named, but 2/4 has two beats")
    assert (caught.value.line, caught.value.column) == (7, 3)


@pytest.mark.parametrize(
    ("lines", "line", "column"),
    [
        (['rhythm = "1 3"'], 3, 13),
        (["rhythm = '1 3'"], 3, 13),
        (['rhythm = """1 3"""'], 3, 15),
        (['rhythm = """1 2', '| 1 3"""'], 4, 5),
        (['about = "x"', 'rhythm = "1 3"'], 4, 13),
        ([r'rhythm = "1 \u0033"'], 3, None),
        (['rhythm = """', "1 2 \\", '| 1 3"""'], 3, None),
    ],
)
def test_the_line_is_found_in_any_kind_of_text(
    lines: list[str], line: int, column: int | None
) -> None:
    """Where the place inside cannot be told, the line of the key is."""
    text = "\n".join(['metre = "2/4"', "tempo = 60", *lines])
    with pytest.raises(DrillError, match="beat 3 is named") as caught:
        read_drill(text, name="x.toml")
    assert (caught.value.line, caught.value.column) == (line, column)


def test_errors_in_the_cue_and_the_tune_name_their_line_too() -> None:
    """The accompanist's line is typed by hand as well."""
    head = 'metre = "2/4"\ntempo = 60\nrhythm = "1 2 | 1 2"\n'
    for rest, message in (
        ('cue = """\n1 2 |\n1 3"""', "x.toml:6, bar 2: beat 3 is named"),
        ('cue = "rest 1"', "x.toml:4: the cue has 1 bar and the rhythm 2"),
        (
            'tune = "C5 D5 | E5"',
            "x.toml:4, bar 2: the tune has 1 pitch here, but the bar has 2 notes",
        ),
        ('tune = "C5 D5 E5"', "x.toml:4: the tune has 3 pitches, but the rhythm has 4 notes"),
        ('tune = "C5 D5 | E5 F5 | G5"', "x.toml:4: the tune has 3 parts between its bar lines"),
        ('tune = "C5 H5 E5 F5"', "x.toml:4: 'H5' is not a pitch"),
    ):
        with pytest.raises(DrillError) as caught:
            read_drill(head + rest, name="x.toml")
        assert str(caught.value).startswith(message)


def _written_again(passage: Passage) -> Passage:
    again = read_drill(write_drill(passage), name="again.toml").passage
    assert again is not None
    return again


def test_a_drill_that_was_written_reads_back_the_same() -> None:
    """Nothing is lost when a drill is saved: cue, tune, entries, their words."""
    passage = read_drill(DRILL, name="millstream.toml").passage
    assert passage is not None
    assert _written_again(passage) == passage


def _with_pitches(bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    return tuple(
        replace(
            bar,
            places=tuple(
                replace(p, pitches=(60 + n, 72) if n % 2 else ()) if p.kind is Kind.PLAYED else p
                for n, p in enumerate(bar.places)
            ),
        )
        for bar in bars
    )


@LAW
@given(bars=written_bars(), title=st.text(max_size=20), tempo=st.floats(5, 1000))
def test_any_passage_reads_back_the_same(bars: tuple[Bar, ...], title: str, tempo: float) -> None:
    """Whatever the title holds, quotation marks and emoji included, the file is TOML."""
    passage = Passage(title, Bpm(tempo), _with_pitches(bars), cue=())
    again = _written_again(passage)
    assert again.bars == passage.bars
    assert again.tempo == tempo


def test_bars_and_entries_of_an_excerpt_are_numbered_from_one_when_written() -> None:
    """A drill file has no place for printed numbers, so its entries move with its bars."""
    passage = read_drill(DRILL, name="millstream.toml").passage
    assert passage is not None
    later = replace(
        passage,
        bars=tuple(replace(bar, number=bar.number + 16) for bar in passage.bars),
        marks=tuple(replace(mark, bar=mark.bar + 16) for mark in passage.marks),
    )
    assert _written_again(later) == passage


def test_a_landmark_with_a_backslash_survives() -> None:
    """TOML would read a backslash as an escape."""
    text = 'metre = "2/4"\ntempo = 60\nrhythm = \'"a\\b" 1 2\''
    passage = read_drill(text, name="x.toml").passage
    assert passage is not None
    assert passage.bars[0].landmarks == ("a\\b",)
    assert _written_again(passage).bars == passage.bars


def test_the_way_of_counting_is_written_where_it_is_not_the_ordinary_one() -> None:
    """In six stays in six."""
    text = 'metre = "6/8"\nbeat = "eighth"\ntempo = 120\nrhythm = "1 2 3 4 5 6"'
    passage = read_drill(text, name="x.toml").passage
    assert passage is not None
    assert 'beat = "eighth"' in write_drill(passage)
    assert _written_again(passage).bars == passage.bars
