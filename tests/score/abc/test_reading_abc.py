"""Tunes in ABC: the worked examples of the standard, whole tunes, and files that are none."""

import contextlib
import time
import warnings
from fractions import Fraction
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import FileError
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.score.abc.document import read_abc
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.musicxml.document import Score
from rhythmtrain.score.musicxml.passage import part_passage
from rhythmtrain.score.passage import Passage, notes_of
from rhythmtrain.score.repeats import as_played
from tests.simulate.pace import stretched

MOST_SECONDS, SIGNS = 20.0, 250_000


def tune(music: str, head: str = "M:4/4\nL:1/8") -> Score:
    """Return the score of a tune."""
    return read_abc(f"X:1\nT:Mill\n{head}\nK:C\n{music}\n".encode(), name="t.abc")


def lengths(music: str, head: str = "M:4/4\nL:1/8") -> list[Fraction]:
    """Return how long each note of the first voice is written, in quarters."""
    return [note.length for bar in tune(music, head).parts[0].measures for note in bar.notes]


def passage(music: str, head: str = "M:4/4\nL:1/8") -> Passage:
    """Return the first voice of a tune as a passage."""
    read = tune(music, head)
    return part_passage(read, read.parts[0]).passage


def in_music21(music: str, head: str = "M:4/4\nL:1/8") -> list[Fraction]:
    """Return the same as music21 reads it."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import music21  # noqa: PLC0415  (slow to import, and only needed here)

        read = music21.converter.parse(f"X:1\nT:Mill\n{head}\nK:C\n{music}\n", format="abc")
        notes = read.flatten().notes
        return [Fraction(note.duration.quarterLength).limit_denominator(960) for note in notes]


# ABC 2.1 (December 2011), sections 3.1.7, 4.3, 4.4, 4.13; lengths in quarters.
EXAMPLES = [
    ("a", "M:2/4", "1/4"),
    ("a", "M:6/8", "1/2"),
    ("a", "M:3/4", "1/2"),
    ("a", "M:C", "1/2"),
    ("a", "M:C|", "1/2"),
    ("a", "M:none", "1/2"),
    ("a b2 c3/2 d/ e//", "M:4/4\nL:1/8", "1/2 1 3/4 1/4 1/8"),
    ("a/4 b/2 c4", "M:4/4\nL:1/8", "1/8 1/4 2"),
    ("a>b c<d", "M:4/4\nL:1/8", "3/4 1/4 1/4 3/4"),
    ("a>>b c<<d", "M:4/4\nL:1/8", "7/8 1/8 1/8 7/8"),
    ("g>>>a", "M:4/4\nL:1/8", "15/16 1/16"),
    ("(3abc", "M:4/4\nL:1/8", "1/3 1/3 1/3"),
    ("(2ab", "M:4/4\nL:1/8", "3/4 3/4"),
    ("(4abcd", "M:4/4\nL:1/8", "3/8 3/8 3/8 3/8"),
    ("(5abcde", "M:4/4\nL:1/8", "1/5 1/5 1/5 1/5 1/5"),
    ("(5abcde", "M:6/8\nL:1/8", "3/10 3/10 3/10 3/10 3/10"),
    ("(3:2:2G4c2", "M:4/4\nL:1/8", "4/3 2/3"),
    ("(3:2:4G2A2Bc", "M:4/4\nL:1/8", "2/3 2/3 1/3 1/3"),
    ("(3::abc", "M:4/4\nL:1/8", "1/3 1/3 1/3"),
    ("a/8", "M:4/4\nL:1/8", "1/16"),
    ("a/16 b", "M:4/4\nL:1/8", "1/32 1/2"),
]
# music21 has no default length for what the table leaves out, and knows no (3:: or a/16.
READ_BY_MUSIC21 = [each for each in EXAMPLES if each[0] not in ("(3::abc", "a/16 b")]


@pytest.mark.parametrize(("music", "head", "wanted"), EXAMPLES)
def test_the_standards_examples_have_their_lengths(music: str, head: str, wanted: str) -> None:
    """As the standard gives them."""
    assert [str(each) for each in lengths(music, head)] == wanted.split()


@pytest.mark.parametrize(("music", "head", "wanted"), READ_BY_MUSIC21)
def test_music21_reads_the_examples_alike(music: str, head: str, wanted: str) -> None:
    """A second pair of eyes on the same table."""
    assert [str(each) for each in in_music21(music, head)] == wanted.split()


def test_the_unit_stays_when_the_metre_changes() -> None:
    """Only L: changes it."""
    assert lengths("a2|[M:2/4]a2|[L:1/4]a", "M:4/4") == [1, 1, 1]


@pytest.mark.parametrize(
    ("music", "order"),
    [
        ("|:C4 D4:|E4 F4|", "1 1 2"),
        ("C8:|D8|", "1 1 2"),
        ("C8||D8:|E8|", "1 2 2 3"),
        ("|::C8::|D8|", "1 1 1 2"),
        ("|:C8::D8:|", "1 1 2 2"),
        ("|:C8|1D8:|2E8||F8|", "1 2 1 3 4"),
        ("|:C8|[1D8:|[2E8|]F8|", "1 2 1 3 4"),
        ("|:C8|1,2D8:|3E8|", "1 2 1 2 1 3"),
    ],
)
def test_repeats_and_endings_are_played(music: str, order: str) -> None:
    """Bars as one plays them."""
    bars = passage(music).bars
    assert " ".join(str(bars[at].number) for at in as_played(bars)) == order


def test_upbeats_ties_rests_and_chords() -> None:
    """A bar cut in two by a repeat keeps its number; a tie is one note."""
    read = passage('|:G2|"Am"A2 [CE]2 z2 x2|(A4 A4-|A8)|Z2|c6:|', "M:4/4\nL:1/8\nQ:1/4=96")
    assert write_bars(read.bars).replace("\n", " ") == (
        "|: 4 | 1 2 (3 4) | 1 [2] 3 [4] | [1 2 3 4] | rest 2 | 1 [2 3] :|"
    )
    assert [bar.number for bar in read.bars] == [0, 1, 2, 3, 4, 5, 6]
    assert float(read.tempo) == 96.0
    tied = [note for note in notes_of(read.bars) if note.bar == 2]
    assert [str(note.length) for note in tied] == ["2", "6"]
    chord = next(note for note in notes_of(read.bars) if len(note.pitches) == 2)
    assert chord.pitches == (60, 64)


def test_keys_and_accidentals_give_the_pitches_of_the_tune() -> None:
    """F is sharp in D until a natural says otherwise, and sharp again in the next bar."""
    read = read_abc(b"X:1\nM:4/4\nL:1/4\nK:D\nF =F F ^G|F c' C, d|\n", name="t.abc")
    notes = [note.pitch for bar in read.parts[0].measures for note in bar.notes]
    assert notes == [66, 65, 65, 68, 66, 85, 49, 74]
    flat = read_abc(b"X:1\nM:4/4\nL:1/4\nK:Gm\nB E A\n", name="t.abc")
    assert [note.pitch for note in flat.parts[0].measures[0].notes] == [70, 63, 69]


def test_what_is_beside_the_rhythm_is_passed_over() -> None:
    """Slurs, ornaments, grace notes, words under the notes, comments, breaks of lines."""
    music = '{ga}~A2 (B2 !trill!c2) .d2|\\\nw: la la\nu"^loud"A4 !accent!A4|% the end'
    read = passage(music)
    assert write_bars(read.bars) == "1 2 3 4 | 1 [2] 3> [4]"


def test_voices_are_parts_that_share_their_bars() -> None:
    """The second is the accompanist's, by name."""
    head = 'M:2/4\nL:1/4\nV:1 nm="Fiddle"\nV:2 nm="Box"'
    read = tune("[V:1] A B|z2|\n[V:2] C D|E F|", head)
    assert [part.name for part in read.parts] == ["Fiddle", "Box"]
    both = part_passage(read, read.parts[0], read.parts[1]).passage
    assert [note.at for note in notes_of(both.cue)] == [2, 3]


def test_a_tune_is_practised_like_any_passage(tmp_path: Path) -> None:
    """By its file's name, with bars."""
    path = tmp_path / "mill.abc"
    path.write_text("X:1\nT:Mill\nM:2/4\nL:1/8\nK:G\nG2 AB|c2 z2|d4|\n\nX:2\nT:Other\nK:C\nC\n")
    said: list[str] = []
    found = find_passage(str(path), "1-2", say=said.append)
    assert (found.title, write_bars(found.bars)) == ("Mill", "1 2 & | 1 (2)")
    assert "mill.abc holds 2 tunes: the first is read" in said


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "is empty"),
        (b"hello", "no K: ends its head"),
        (b"X:1\nK:C\n", "holds no bars"),
        (b"X:1\nM:7/9\nK:C\nC", "M: .*lower number"),
        (b"X:1\nL:1/0\nK:C\nC", "L: '1/0' is no length"),
        (b"X:1\nK:C\nC/0", "nothing divides by 0"),
        (b"X:1\nK:C\n" + b"C" * 1_000_001, "larger than 1 MB"),
        (b"X:1\nK:C\n" + b"Z999" * 40, "more than 9999 bars"),
    ],
)
def test_what_is_no_tune_is_one_line(data: bytes, words: str) -> None:
    """It names the file."""
    with pytest.raises(FileError, match=words) as caught:
        read_abc(data, name="t.abc")
    assert str(caught.value).startswith("t.abc")


@pytest.mark.parametrize(
    "sign", ["{", "[K:", '"', "!", "(", ":", "|", "[A1111", "[A1111-", "a>", "&"]
)
def test_a_line_of_signs_without_end_is_soon_read(sign: str) -> None:
    """Nobody waits for a file that means harm."""
    data = b"X:1\nK:C\n" + (sign * SIGNS)[:SIGNS].encode()
    begun = time.process_time()
    with contextlib.suppress(FileError):
        read_abc(data, name="t.abc")
    assert time.process_time() - begun < stretched(MOST_SECONDS)


@settings(max_examples=150, deadline=None)
@given(st.text(alphabet="ABcdz2/3-|:[]()<>{}\"!&^_=,'%\nVMLKQPXZH 1.", max_size=60))
def test_any_music_is_bars_or_one_line(music: str) -> None:
    """Never a traceback."""
    try:
        read = tune(music)
        part_passage(read, read.parts[0])
    except FileError as error:
        assert "\n" not in str(error)  # noqa: PT017
