"""What is wrong or doubtful in an ABC tune: one sentence with the line, and no note misread in silence."""

from fractions import Fraction

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.score.abc.document import read_abc
from rhythmtrain.score.musicxml.document import Score
from rhythmtrain.score.musicxml.passage import part_passage
from rhythmtrain.score.notation.notation import notated
from rhythmtrain.score.passage import notes_of
from rhythmtrain.score.repeats import as_played

# The music stands on line 4 of the file.
HEAD = "X:1\nM:4/4\nK:C\n"


def read(text: str) -> Score:
    """Return the score of a whole ABC text."""
    return read_abc(text.encode(), name="mill.abc")


def lengths(score: Score) -> list[Fraction]:
    """Return how long each note is, in quarters."""
    return [note.length for bar in score.parts[0].measures for note in bar.notes]


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "mill.abc is empty: an ABC tune has X:1 and K:C, say"),
        (" \n\n", "mill.abc is empty"),
        ("PK\x03\x04\x00\x00", "mill.abc is no text, so it is no ABC tune"),
        (
            "X:1\nT:Mill\nGABc|\n",
            "line 3: no K: ends its head before 'GABc|'; write K: and the key",
        ),
        (f"{HEAD}CDEF|{{ga B2|", r"line 4: '{' is never closed on its line.* write the '}'"),
        (f'{HEAD}"Am A2 B2|', "line 4: '\"' is never closed on its line"),
        (f"{HEAD}!trill A2 B2|", "line 4: '!' is never closed on its line"),
        (f"{HEAD}CDEF\n[CE G2|", r"line 5: '\[' is never closed on its line"),
        (f"{HEAD}[M:3/4 A2|", r"line 4: '\[' is never closed"),
        (f"{HEAD}A/0", "line 4: a note cannot last '/0': nothing divides by 0"),
        (f"{HEAD}A0", "line 4: a note cannot last '0': a length is more than 0"),
        (
            f"{HEAD}A99999999",
            "line 4: '99999999' is no length of a note: write it like 2, 3/2 or /",
        ),
        (f"{HEAD}A3/2/2", "line 4: '3/2/2' is no length of a note"),
        (f"{HEAD}A//3", "line 4: '//3' is no length of a note"),
        (f"{HEAD}[C/0E]", "line 4: a note cannot last '/0'"),
        (f"{HEAD}A>>>>B", "line 4: '>>>>' is too long: at most '>>>'"),
        (f"{HEAD}(1A", r"line 4: '\(1' is no tuplet: ABC has those of 2 to 9 notes"),
        (f"{HEAD}(12ABc", r"line 4: '\(12' is no tuplet"),
        (f"{HEAD}Z0|", "line 4: 'Z0' is no number of bars' rest: write it like Z4"),
        (f"{HEAD}A2 Z|", "line 4: 'Z' stands beside notes: Z is for whole bars of rest, z for"),
        ("X:1\nM:4/5\nK:C\nA", "line 2, M: metre 4/5: the lower number must be one of 1, 2, 4"),
        ("X:1\nM:waltz\nK:C\nA", "line 2, M: 'waltz' is not a metre: write it like .*M:none"),
        (f"{HEAD}A4 B4|[M:x]", "line 4, M: 'x' is not a metre"),
        ("X:1\nL:1/3\nK:C\nA", "line 2, L: '1/3' is no length: write it like 1/8"),
        ("X:1\nL:eighth\nK:C\nA", "line 2, L: 'eighth' is no length"),
    ],
)
def test_what_cannot_be_read_is_one_line_with_its_place(text: str, words: str) -> None:
    """The writer finds the line at once, and is told what may stand there."""
    with pytest.raises(FileError, match=words) as caught:
        read(text)
    assert str(caught.value).startswith("mill.abc")
    assert "\n" not in str(caught.value)


@pytest.mark.parametrize(
    ("music", "words", "wanted"),
    [
        ("A4 q B4|", "line 4, bar 1: 'q' is no note (A to G, a to g) and no other", "2 2"),
        ("A4 Ä B4|", "line 4, bar 1: 'Ä' is no sign of ABC where it stands; it is passed", "2 2"),
        ("A4 2 B4|", "line 4, bar 1: '2' is no sign of ABC where it stands", "2 2"),
        ("A4 ^ B4|", "line 4, bar 1: '^' is no sign of ABC where it stands", "2 2"),
        ("A4 B4]|", "line 4, bar 1: ']' is no sign of ABC where it stands", "2 2"),
        ("A4 }B4|", "line 4, bar 1: '}' is no sign of ABC where it stands", "2 2"),
        ("!ABc!A4 B4|", "line 4, bar 1: '!ABc!' is no ornament of ABC", "2 2"),
        ("A8|A8>|B4 c4|", "line 4, bar 2: '>' has no note after it before the bar", "4 4 2 2"),
        ("A8|<A4 B4|", "line 4, bar 2: '<' has no note before it in its bar", "4 2 2"),
        ("A4> <B4|", "line 4, bar 1: '<' comes after '>' without a note", "3 1"),
        (
            "A8|(3ABc2z4|A8|B8|",
            "line 4, bar 2: this bar has 3 1/3 quarters where 4/4 has 4",
            "4 1/3 1/3 2/3 4 4",
        ),
        ("(3AB|A8|", "bar 0: the tuplet '(3' has 2 of its 3 notes before", "1/3 1/3 4"),
        ("A4>B2z|", "'>' stands between notes of unequal length", "3 1/2"),
        ("A4 [Cq]4|", "line 4, bar 1: 'q' is no sign of a chord", "2 2"),
        ("A4 [q]B4|", "line 4, bar 1: 'q' is no sign of a chord", "2 2"),
        ("A8|B2 c2|d8|e8|", "line 4, bar 2: this bar has 2 quarters where 4/4 has 4", "4 1 1 4 4"),
        ("A8|B8c|d8|", "line 4, bar 2: this bar has 4 1/2 quarters where 4/4 has 4", "4 4 1/2 4"),
        ("A8|\nB8 c|", "line 5, bar 2: this bar has 4 1/2 quarters where", "4 4 1/2"),
        ("A8|2B8|", "line 4, bar 2: ending 2 has no ending 1 before it; write |1", "4 4"),
        ("|:A8|:B8:|", "line 4, bar 1: |: opens a repeat that no :| closes; it is", "4 4"),
        ("|:A8|1B8:|2c8||:d8|2e8:|", "line 4, bar 5: ending 2 has no ending 1", "4 4 4 4 4"),
        ("|:A8|B8|", "line 4, bar 1: |: opens a repeat that no :| closes", "4 4"),
        ("A8 & c8|B8|", "line 4, bar 1: a second voice written with & is left out", "4 4"),
        ("A8|\n\nB8|", "line 6: the empty line before it ends the tune, and what", "4"),
        ("A8|\nQ:fast\nB8|", "line 5: Q:fast says no tempo: write it like Q:1/4=96", "4 4"),
        ("A8|\nK:H\nB8|", "line 5: K:H is no key, such as K:G or K:Dmin", "4 4"),
        ("A4 +ce+4|", "", "2 2 2"),
        ("A8|-A8|", "line 4, bar 2: a tie stands apart from its note; write A-|A", "4 4"),
        ("A8|!B8|", "'!' is read as the end of a line, as before ABC 2.0", "4 4"),
    ],
)
def test_what_is_doubtful_is_told_with_line_and_bar(music: str, words: str, wanted: str) -> None:
    """And what stands around it is read as if it were not there."""
    score = read(f"{HEAD}{music}\n")
    assert lengths(score) == [Fraction(length) for length in wanted.split()]
    assert words in " · ".join(score.remarks)
    assert len(score.remarks) == (1 if words else 0)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("M:4/4\nK:C\nA8|", "has no X: before its tune"),
        ("X:1\nM:4/4\nP:ABA\nK:C\nP:A\nA8|\nP:B\nB8|", "line 3: P:ABA is not followed"),
        ("X:1\nM:4/4\nm: ~A = {c}A\nK:C\nA8|", "line 3: macros (m:) are not read"),
        ("X:1\n1/4=96\nM:4/4\nK:C\nA8|", "line 2: '1/4=96' stands before K: and is no field such"),
        ("X:1\nM:4/4\nQ:C=\nK:C\nA8|", "line 3: Q:C= says no tempo"),
        ("X:1\nM:4/4\nK:Q\nA8|", "line 3: K:Q is no key"),
    ],
)
def test_what_is_doubtful_in_the_head_is_told(text: str, words: str) -> None:
    """The tune is read all the same."""
    score = read(text)
    assert words in " ".join(score.remarks)
    assert lengths(score)[0] == 4


def test_of_many_doubts_the_first_are_told_and_the_others_counted() -> None:
    """A garbled file does not fill the screen."""
    score = read(HEAD + "qA8|\n" * 7)
    assert len(score.remarks) == 5
    assert score.remarks[0].startswith("mill.abc, line 4, bar 1: 'q'")
    assert score.remarks[4] == "mill.abc: 3 more places are as doubtful"


@pytest.mark.parametrize(
    "music",
    [
        "G2|A4 B4|c6:|",  # an upbeat, and the bar that it is taken from
        "A4 B4|c4||d4|e8|",  # a bar cut in two by a double bar
        "A4 B4|c4|d4|e8|",  # and by a plain one
        "|:A8|1B8:|2c4||",
        "|:A8|[1B8:|[2c8|]",
        "|:A8:|\n|:B8:|",
        "A4 B4\nc4 d4|",  # the bar line at a line's end left out
        "A2 (B2 .c2) ~d2|!fermata!A4 !p!!>!B4|v[CE]4 u[!1!C!3!E]4|",
        '{g}A4 {/ga}B4|"Am7"A4 "^slow"B4|.(A4 B4)|y A4 y2 B4 ` |$',
        "[|A8|]",
        "A8.|B8|::c8:|",
        "(3ABc (3:2:2A4B2 B2|(5:4ABcdez4|A8|",
        "A8-|A4 B4-|\nB8|",
        "A4 \\\nB4|",
        "d:|\nA8|",
        'A4 "^50\\% slower" B4|',
        "A8|% a comment\n%%vskip 3\nw: la\nB8|",
    ],
)
def test_rightful_abc_is_read_without_a_word(music: str) -> None:
    """A warning that is none teaches to read past all of them."""
    assert read(f"{HEAD}{music}\n").remarks == ()


def test_a_line_that_begins_with_a_note_and_a_bar_line_is_music() -> None:
    """It looks like a field, and its note was lost."""
    assert lengths(read(f"{HEAD}|:A6\nG2:|\n")) == [3, 1]
    assert lengths(read(f"{HEAD}A6\nG:|\n")) == [3, Fraction(1, 2)]


def test_what_the_head_of_the_file_says_goes_for_its_tunes() -> None:
    """Its metre and unit were passed over."""
    score = read("M:6/8\nL:1/16\n\nX:1\nT:Mill\nK:C\nA2|\n\nX:2\nK:C\nB2|\n")
    assert lengths(score) == [Fraction(1, 2)]
    assert str(score.parts[0].measures[0].metres[0][1]) == "6/8"


def test_free_text_between_tunes_is_no_music() -> None:
    """An ABC file may tell stories after an empty line."""
    score = read(f"{HEAD}A8|\n\nA good tune for a bad day.\n")
    assert lengths(score) == [4]
    assert score.remarks == ()


def test_text_to_be_printed_is_no_music() -> None:
    """Neither is what stands between begintext and endtext."""
    assert lengths(read(f"{HEAD}A8|\n%%begintext\nA bad cafe\n%%endtext\nB8|\n")) == [4, 4]


@pytest.mark.parametrize(
    ("said", "tempo"),
    [("1/4=96", 96), ("3/8=40", 60), ("C=120", 60), ("C3=40", 60), ('"Brisk" 1/4=80', 80)],
)
def test_tempi_of_all_times_are_read(said: str, tempo: int) -> None:
    """``C3=40`` was taken for three beats a minute."""
    score = read(f"X:1\nM:4/4\nL:1/8\nQ:{said}\nK:C\nA8|\n")
    assert score.parts[0].measures[0].signs.tempi == [(Fraction(0), Fraction(tempo))]
    assert score.remarks == ()


def test_a_broken_rhythm_goes_on_over_blanks_slurs_and_lines() -> None:
    """Only a bar line ends it."""
    assert lengths(read(f'{HEAD}A2 > (B2 c2)>\\\n"G"{{g}}d2|\n')) == [
        Fraction(3, 2),
        Fraction(1, 2),
        Fraction(3, 2),
        Fraction(1, 2),
    ]


def test_a_tie_apart_from_its_note_is_a_tie() -> None:
    """Otherwise a long note was struck twice."""
    score = read(f"{HEAD}A8|-A4 B4|\n")
    notes = notes_of(part_passage(score, score.parts[0]).passage.bars)
    assert [note.length for note in notes] == [6, 2]


@pytest.mark.parametrize(
    ("music", "order"),
    [
        ("A8|B8!fine!|c8!D.C.!|", "1 2 3 1 2"),
        ("A8|S B8|c8|!D.S.!|", "1 2 3 2 3"),
        ('A8|B8|"Fine"|c8|"D.C. al Fine"|', "1 2 3 1 2 3"),
        ("A8|!segno!B8!dacoda!|c8!D.S.!|!coda!d8|", "1 2 3 2 4"),
    ],
)
def test_jumps_to_a_sign_are_obeyed(music: str, order: str) -> None:
    """They were passed over."""
    score = read(f"{HEAD}{music}\n")
    bars = part_passage(score, score.parts[0]).passage.bars
    assert " ".join(str(bars[at].number) for at in as_played(bars)) == order


def test_letters_mean_what_the_tune_says() -> None:
    """``U:`` gives a letter a meaning, and takes the usual one."""
    score = read("X:1\nM:4/4\nU:n=!accent!\nU:L = !trill!\nK:C\nnA4 LB4|\n")
    assert [note.accent for note in score.parts[0].measures[0].notes] == [True, False]
    assert score.remarks == ()


@pytest.mark.parametrize(
    ("key", "pitches"),
    [("D", "66 61"), ("D exp ^f", "66 60"), ("Hp", "66 61"), ("none", "65 60"), ("D =c", "66 60")],
)
def test_keys_with_signs_of_their_own_are_read(key: str, pitches: str) -> None:
    """The tune that one hears has them."""
    score = read(f"X:1\nM:4/4\nK:{key}\nF4 C4|\n")
    notes = score.parts[0].measures[0].notes
    assert (" ".join(str(note.pitch) for note in notes), score.remarks) == (pitches, ())


@pytest.mark.parametrize(
    ("music", "beams"),
    [
        ("ABc de fg|ABc de fg", ((0, 2), (3, 4), (5, 6))),
        ("AB cd efg|A7", ((0, 1), (2, 3), (4, 6))),
        ("A2 B2 c3|A7", ()),
        ("AB(3cdez AB|A7", ((0, 1), (2, 4), (6, 7))),
        ("[AC]B cd e>fg|A7", ((0, 1), (2, 3), (4, 6))),
        ("A B c d e fg\nA7|", ((5, 6),)),
    ],
)
def test_notes_without_a_blank_between_stand_under_one_beam(
    music: str, beams: tuple[tuple[int, int], ...]
) -> None:
    """In 7/8 that tells the groups (ABC 2.1, 4.7)."""
    score = read(f"X:1\nM:7/8\nL:1/8\nK:C\n{music}\n")
    bars = part_passage(score, score.parts[0]).passage.bars
    drawn = notated(bars)[0]
    assert drawn.beams == beams


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "latin-1"])
def test_every_coding_that_a_program_writes_is_read(coding: str) -> None:
    """A title with an umlaut refuses no tune."""
    score = read_abc(f"X:1\nT:Mühle\n{HEAD[4:]}A8|\n".encode(coding), name="mill.abc")
    assert (score.title, score.remarks) == ("Mühle", ())
    assert lengths(score) == [4]
