"""A part of a score as a passage: bars, tempi, landmarks, cue, and which part it is."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError
from rhythmtrain.remedies import remedy
from rhythmtrain.report.passage.show import show_text
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.entries import entries_of
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.musicxml.document import read_score
from rhythmtrain.score.musicxml.parts import choose_part
from rhythmtrain.score.musicxml.passage import part_passage
from rhythmtrain.score.notation.notation import notated
from rhythmtrain.score.passage import Passage, notes_of
from rhythmtrain.score.tempo import speeds
from tests.simulate.musicxml_text import attributes, note, part_of, rest, score, sounded

SAID = "<direction><direction-type>{}</direction-type></direction>"


def passage_of(*bars: str, numbers: tuple[str, ...] = ()) -> Passage:
    """Return the only part of a score as a passage."""
    read = read_score(score(part_of(*bars, numbers=numbers)), name="x.musicxml")
    return part_passage(read, read.parts[0]).passage


def test_an_upbeat_is_the_end_of_a_bar() -> None:
    """It is counted 4, and time begins with the first whole bar."""
    passage = passage_of(
        attributes() + note("C5", 1), note("C5", 4), note("C5", 3), numbers=("0", "1", "2")
    )
    assert [(each.bar, each.count, str(each.at)) for each in notes_of(passage.bars)] == [
        (0, "4", "-1"), (1, "1", "0"), (2, "1", "4"),
    ]  # fmt: skip
    assert passage.bars[-1].ends == 3


def test_a_bar_cut_in_two_by_a_repeat_stays_one_bar() -> None:
    """Three beats, the sign, and the upbeat of what follows: its count is 4."""
    passage = passage_of(
        attributes() + note("C5", 4), note("C5", 3), note("C5", 1), note("C5", 4),
        numbers=("1", "2", "X1", "3"),
    )  # fmt: skip
    counts = [(each.bar, each.count) for each in notes_of(passage.bars)]
    assert counts == [(1, "1"), (2, "1"), (2, "4"), (3, "1")]


@pytest.mark.parametrize(
    ("time", "wanted"),
    [
        ("<beats>3+2</beats><beat-type>8</beat-type>", "3+2/8"),
        (
            "<beats>3</beats><beat-type>8</beat-type><beats>1</beats><beat-type>4</beat-type>",
            "3+2/8",
        ),
        ("<beats>5</beats><beat-type>8</beat-type>", "5/8"),
    ],
)
def test_metres_in_groups(time: str, wanted: str) -> None:
    """Three and two is not two and three."""
    start = f"<attributes><divisions>2</divisions><time>{time}</time></attributes>"
    assert str(passage_of(start + note("C5", 3) + note("C5", 2)).metre) == wanted


def test_a_metre_that_changes_inside_a_bar() -> None:
    """Two quarters of 2/4, then the bar goes on in 3/8."""
    change = attributes(2, "3/8")
    passage = passage_of(
        attributes(2, "2/4") + note("C5", 4) + change + note("C5", 3), note("C5", 3)
    )
    assert [(str(bar.metre), str(bar.length)) for bar in passage.bars] == [
        ("2/4", "2"), ("3/8", "3/2"), ("3/8", "3/2"),
    ]  # fmt: skip


@pytest.mark.parametrize("length", [5, 11, 70, 300])
def test_overfull_bars_and_cadenzas_fit_some_metre(length: int) -> None:
    """However long, every note has a bar and a count."""
    passage = passage_of(attributes() + note("C5", 1) * length, note("C5", 4))
    assert len(notes_of(passage.bars)) == length + 1
    assert sum(bar.length for bar in passage.bars) == length + 4


TEMPI = {
    "sound is in quarters": (sounded('tempo="120"'), 120.0),
    "a dotted beat": (
        SAID.format(
            "<metronome><beat-unit>quarter</beat-unit><beat-unit-dot/><per-minute>c. 80</per-minute>"
            "</metronome>"
        ),
        120.0,
    ),
    "sound before what is printed": (
        SAID.format("<metronome><beat-unit>half</beat-unit><per-minute>50</per-minute></metronome>")
        .replace("</direction>", '<sound tempo="96"/></direction>'),
        96.0,
    ),
    "nothing": ("", 120.0),
    "no real tempo": (sounded('tempo="0"'), 120.0),
    "a direction past the end of its bar": (
        '<direction><direction-type/><offset sound="yes">99</offset><sound tempo="72"/></direction>',
        72.0,
    ),
}  # fmt: skip


@pytest.mark.parametrize("name", TEMPI)
def test_the_tempo_is_the_one_written(name: str) -> None:
    """A practice track at another speed is no use."""
    sign, quarters = TEMPI[name]
    assert speeds(passage_of(attributes() + sign + note("C5", 4), note("C5", 4)))[0][0] == quarters


def test_a_tempo_inside_a_bar_holds_from_there() -> None:
    """The bar is told in two pieces of one number."""
    passage = passage_of(
        attributes() + sounded('tempo="60"') + note("C5", 2) + sounded('tempo="90"') + note("C5", 2)
    )
    assert [(bar.number, str(bar.ends), quarters) for bar, (quarters, _) in
            zip(passage.bars, speeds(passage), strict=True)] == [(1, "2", 60.0), (1, "4", 90.0)]  # fmt: skip


def test_one_note_value_equals_another() -> None:
    """The dotted quarter takes over the quarter's beat."""
    equal = SAID.format(
        "<metronome><beat-unit>quarter</beat-unit><beat-unit>quarter</beat-unit><beat-unit-dot/>"
        "</metronome>"
    )
    bars = attributes() + sounded('tempo="60"') + note("C5", 4), equal + note("C5", 4)
    assert [quarters for quarters, _ in speeds(passage_of(*bars))] == [60.0, 90.0]


def test_landmarks_and_pauses() -> None:
    """Letters, words, and a note on which everybody waits: the pause comes before the next bar."""
    letter = SAID.format("<rehearsal>B</rehearsal>") + SAID.format("<words>piano  alone</words>")
    waits = "<notations><fermata/></notations>"
    bars = attributes() + letter + note("C5", 4), note("C5", 4, waits), note("C5", 4, waits)
    passage = passage_of(*bars)
    assert passage.bars[0].landmarks == ("B", "piano alone")
    assert [bar.pause for bar in passage.bars] == [False, False, True]


def duet(player: tuple[str, ...], *piano: str) -> bytes:
    """Return a score of a flute and a piano."""
    start = attributes(2)
    return score(
        part_of(start + player[0], *player[1:]),
        part_of(attributes(2, more="<staves>2</staves>") + piano[0], *piano[1:]),
        names=("Flute", "Piano"),
    )


BEAM = '<beam number="1">{}</beam><beam number="2">begin</beam>'
TWO, THREE = ("begin", "end"), ("begin", "continue", "end")


@pytest.mark.parametrize(
    ("time", "beams", "wanted"),
    [
        ("7/8", (*TWO, *TWO, *THREE), ((0, 1), (2, 3), (4, 6))),
        ("7/8", (*THREE, *TWO, *TWO), ((0, 2), (3, 4), (5, 6))),
        ("5/8", (*THREE, *TWO), ((0, 2), (3, 4))),
        ("5/8", ("begin", "continue", "continue", "continue", "end"), ((0, 4),)),
        ("5/8", ("", "", *THREE), ((2, 4),)),
        ("5/8", ("end", "", "begin", "", ""), ()),
        ("7/8", ("",) * 7, ()),
        ("6/8", (*TWO, *TWO, *TWO), ((0, 2), (3, 5))),
    ],
)
def test_a_scores_beams_tell_groups_where_the_metre_does_not(
    time: str, beams: tuple[str, ...], wanted: tuple[tuple[int, int], ...]
) -> None:
    """On the sheet seven eighths stand as in the music; where beats tell the groups, by these."""
    notes = (note("C5", 1, BEAM.format(beam) if beam else "") for beam in beams)
    whole = passage_of(attributes(2, time) + "".join(notes), *[note("C5", len(beams))] * 2)
    drawn = notated(whole.bars)
    assert drawn[0].beams == wanted
    assert drawn[0].bar.metre == Metre.parse(time)
    assert drawn[0].bar == replace(drawn[0].bar, beams=())


def test_beams_of_a_second_voice_and_of_other_pieces_are_left_alone() -> None:
    """The first beamed voice tells the groups; a bar cut by a tempo has beams in its own piece."""
    lower = "".join(
        note("C4", 1, BEAM.format(beam) + "<voice>2</voice>") for beam in (*TWO, *THREE)
    )
    upper = "".join(
        note("C5", 1, BEAM.format(beam) + "<voice>1</voice>") for beam in (*THREE, *TWO)
    )
    two = attributes(2, "5/8") + upper + "<backup><duration>5</duration></backup>" + lower
    assert notated(passage_of(two, note("C5", 5)).bars)[0].beams == ((0, 2), (3, 4))
    three, last = upper.split("</note>")[:3], upper.split("</note>")[3:5]
    faster = "</note>".join([*three, ""]) + sounded('tempo="90"') + "</note>".join([*last, ""])
    cut = notated(passage_of(attributes(2, "5/8") + faster, note("C5", 5)).bars)
    assert [bar.beams for bar in cut[:2]] == [((0, 2),), ((0, 1),)]


@pytest.mark.parametrize(
    ("pieces", "wanted"),
    [
        (("Slowly (", ")"), ("Slowly",)),
        (("piano", "alone"), ("piano alone",)),
        (("(", ")"), ()),
        (("a" * 40, "b" * 40), ("a" * 40, "b" * 40)),
    ],
)
def test_words_in_pieces_are_one_text(pieces: tuple[str, ...], wanted: tuple[str, ...]) -> None:
    """A bracket round a note value is no landmark."""
    kinds = "".join(f"<direction-type><words>{piece}</words></direction-type>" for piece in pieces)
    passage = passage_of(attributes() + f"<direction>{kinds}</direction>" + note("C5", 4))
    assert passage.bars[0].landmarks == wanted


def test_the_cue_is_the_top_line_in_the_players_rests() -> None:
    """What one listens for before coming in: the highest voice."""
    data = duet(
        (rest(8), rest(3) + note("A5", 5)),
        note("C5", 4) + note("E5", 4, "<chord/>") + note("D5", 4)
        + "<backup><duration>8</duration></backup>" + note("C4", 1) * 8,
        note("G5", 1) * 8,
    )  # fmt: skip
    read = read_score(data, name="x")
    passage = part_passage(read, read.parts[0], read.parts[1]).passage
    heard = notes_of(passage.cue)
    assert [(str(each.at), each.pitches[0]) for each in heard] == [
        ("0", 76), ("2", 74), ("4", 79), ("9/2", 79), ("5", 79),
    ]  # fmt: skip
    assert heard[-1].at + heard[-1].length == Fraction(11, 2)
    (entry,) = entries_of(passage)
    assert (entry.bar, entry.count, entry.rest_bars) == (2, "2&", 1)


def test_a_cue_that_goes_on_under_the_player_keeps_its_length() -> None:
    """A half note over which one comes in is not told as an eighth."""
    data = duet((rest(8), rest(5) + note("A5", 3)), note("C5", 8), note("E5", 2) + note("G5", 6))
    read = read_score(data, name="x")
    passage = part_passage(read, read.parts[0], read.parts[1]).passage
    heard = notes_of(passage.cue)
    assert [(str(each.at), str(each.length)) for each in heard] == [
        ("0", "4"), ("4", "1"), ("5", "3"),
    ]  # fmt: skip
    assert "then you before it ends" in " ".join(show_text(passage).split())


def test_a_cue_that_sounds_into_the_next_rest_makes_way_for_what_begins_there() -> None:
    """A long note of the piano does not cover the line that leads to the second entry."""
    data = duet(
        (rest(4) + note("A5", 4), rest(6) + note("A5", 2)),
        note("C5", 8, '<tie type="start"/>'),
        note("C5", 6, '<tie type="stop"/>') + "<backup><duration>6</duration></backup>"
        + rest(2) + note("E5", 2) + rest(4),
    )  # fmt: skip
    read = read_score(data, name="x")
    passage = part_passage(read, read.parts[0], read.parts[1]).passage
    heard = notes_of(passage.cue)
    assert [(str(each.at), str(each.length)) for each in heard] == [("0", "5"), ("5", "1")]


def test_cue_notes_in_a_part_are_its_cue() -> None:
    """Small notes are heard, not played."""
    bars = attributes() + note("G5", 2, "<cue/>") + note("E5", 2, "<cue/>"), note("C5", 4)
    passage = passage_of(*bars)
    assert [str(each.at) for each in notes_of(passage.bars)] == ["4"]
    assert [str(each.at) for each in notes_of(passage.cue)] == ["0", "2"]


def test_the_part_taken_is_the_first_that_is_no_keyboards() -> None:
    """The player has the single line, wherever the piano stands."""
    read = read_score(
        score(*(part_of(attributes() + note("C5", 4)),) * 3, names=("Piano", "Flute", "Oboe")),
        name="x",
    )
    part, said = choose_part(read)
    assert part.name == "Flute"
    assert said == f"of 3 parts, part 2 is taken: Flute ({remedy('another-part')})"
    assert choose_part(read, "3")[0].name == choose_part(read, "oboe")[0].name == "Oboe"
    with pytest.raises(
        RequestError, match="no part 'tuba': say its name or number, one of 1 Piano, 2"
    ):
        choose_part(read, "tuba")
    with pytest.raises(RequestError, match="several parts are called 'o'"):
        choose_part(read, "o")


PIECES = st.lists(st.tuples(st.integers(1, 6), st.booleans()), min_size=1, max_size=40)


@given(PIECES)
def test_whatever_is_written_is_read_back(pieces: list[tuple[int, bool]]) -> None:
    """Notes and rests of any lengths, in bars of 4/4, tied where they cross."""
    ends: list[tuple[int, int, bool]] = []
    at = 0
    for length, sounds in pieces:
        ends.append((at, at + length, sounds))
        at += length
    bars, wanted = _in_bars(ends)
    read = read_score(score(part_of(attributes(4) + bars[0], *bars[1:])), name="x")
    passage = part_passage(read, read.parts[0]).passage
    found = [(each.at * 4, (each.at + each.length) * 4) for each in notes_of(passage.bars)]
    assert found == [(Fraction(start), Fraction(stop)) for start, stop in wanted]
    write_bars(passage.bars)


def _in_bars(ends: list[tuple[int, int, bool]]) -> tuple[list[str], list[tuple[int, int]]]:
    """Return the bars of sixteen units, and where the notes begin and end."""
    bars = [""] * (-(-ends[-1][1] // 16))
    for start, stop, sounds in ends:
        for bar in range(start // 16, (stop - 1) // 16 + 1):
            low, high = max(start, bar * 16), min(stop, bar * 16 + 16)
            ties = ('<tie type="stop"/>' if low > start else "") + (
                '<tie type="start"/>' if high < stop else ""
            )
            bars[bar] += note("C5", high - low, ties) if sounds else rest(high - low)
    left = len(bars) * 16 - ends[-1][1]
    bars[-1] += rest(left) if left else ""
    return bars, [(start, stop) for start, stop, sounds in ends if sounds]
