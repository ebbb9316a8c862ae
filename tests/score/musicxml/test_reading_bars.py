"""What a MusicXML file says of notes, ties, tuplets and bars, one trap at a time."""

from fractions import Fraction

import pytest

from rhythmtrain.score.musicxml.document import read_score
from rhythmtrain.score.musicxml.ties import file_starts, joined_notes
from tests.simulate.musicxml_text import attributes, note, part_of, rest, score, tie

START = attributes()
QUARTER = Fraction(1)


def onsets(*parts: str, part: int = 0) -> list[str]:
    """Return the onsets of a part in quarters, as text."""
    read = read_score(score(*parts), name="x.musicxml")
    notes = joined_notes(read.parts[part].measures, read.bars)
    return [str(at) for at in dict.fromkeys(note.at for note in notes if not note.cue)]


ONE_BAR = {
    "plain quarters": (START + note("C5", 1) * 4, "0 1 2 3"),
    "rests are silent": (START + note("C5", 1) + rest(1) + note("C5", 2), "0 2"),
    "a chord begins once": (
        START + note("C5", 2) + note("E5", 2, "<chord/>") + note("C5", 2),
        "0 2",
    ),
    "a second voice by backup": (
        START + note("C5", 4) + "<backup><duration>4</duration></backup>" + rest(1) + note("C4", 3),
        "0 1",
    ),
    "a third of the bar by forward": (
        START + "<forward><duration>3</duration></forward>" + note("C5", 1),
        "3",
    ),
    "a backup too far stays in the bar": (
        START + note("C5", 1) + "<backup><duration>9</duration></backup>" + note("D5", 4),
        "0",
    ),
    "grace notes take no time": (START + note("B4", None, "<grace/>") + note("C5", 4), "0"),
    "cue notes are not played": (START + note("B4", 1, "<cue/>") + note("C5", 3), "1"),
    "unpitched notes": (START + note("", 1) * 4, "0 1 2 3"),
    "a tie is one note": (
        START + note("C5", 1, tie("start")) + note("C5", 1, tie("stop")) + note("C5", 2),
        "0 2",
    ),
    "a tie to another pitch is none": (
        START + note("C5", 2, tie("start")) + note("D5", 2, tie("stop")),
        "0 2",
    ),
    "a tie over a rest is none": (
        START + note("C5", 1, tie("start")) + rest(1) + note("C5", 2, tie("stop")),
        "0 2",
    ),
    "a tie from a note that still sounds is none": (
        START
        + note("C5", 4, tie("start"))
        + "<backup><duration>2</duration></backup>"
        + note("C5", 2, tie("stop"), "<voice>2</voice>"),
        "0 2",
    ),
    "a tie to nowhere is none": (START + note("C5", 2, tie("start")) + note("C5", 2), "0 2"),
    "only half a chord is tied": (
        START
        + note("C5", 2, tie("start"))
        + note("E5", 2, "<chord/>")
        + note("C5", 2, tie("stop"))
        + note("E5", 2, "<chord/>"),
        "0 2",
    ),
    "a tie into another voice": (
        START
        + note("C5", 2, tie("start"), "<voice>1</voice>")
        + rest(2)
        + "<backup><duration>2</duration></backup>"
        + note("C5", 2, tie("stop"), "<voice>2</voice>"),
        "0",
    ),
    "unequal chord tones before a tie": (
        START
        + note("C5", 2, tie("start"))
        + note("E5", 1, "<chord/>")
        + note("C5", 2, tie("stop")),
        "0",
    ),
    "divisions that change inside a bar": (
        START
        + note("C5", 1)
        + "<attributes><divisions>4</divisions></attributes>"
        + note("C5", 4)
        + note("C5", 8),
        "0 1 2",
    ),
    "decimal durations": (START + note("C5", "0.5") + note("C5", "3.5"), "0 1/2"),
    "thirds as decimals": (START + note("C5", "0.3333") * 3 + note("C5", 3), "0 1/3 2/3 1"),
    "no durations at all": (
        START + note("C5", None, "<type>half</type>") * 2,
        "0 2",
    ),
    "triplets rounded by coarse divisions": (
        attributes(4)
        + "".join(
            note(
                "C5",
                length,
                "<type>eighth</type>",
                "<time-modification><actual-notes>3</actual-notes>"
                "<normal-notes>2</normal-notes></time-modification>",
            )
            for length in (1, 1, 2)
        )
        + note("C5", 12),
        "0 1/3 2/3 1",
    ),
    "nested triplets": (
        attributes(3)
        + "".join(
            note(
                "C5",
                length,
                "<type>eighth</type>",
                "<time-modification><actual-notes>9</actual-notes>"
                "<normal-notes>4</normal-notes></time-modification>",
            )
            for length in (1, 1, 0)
        )
        + note("C5", 10),
        "0 2/9 4/9 2/3",
    ),
}


@pytest.mark.parametrize("name", ONE_BAR)
def test_a_bar_is_read_as_a_musician_reads_it(name: str) -> None:
    """Every onset stands exactly where the page has it."""
    bar, wanted = ONE_BAR[name]
    assert onsets(part_of(bar)) == wanted.split()


def test_a_tie_goes_over_the_bar_line() -> None:
    """A syncopation over the bar line is one clap."""
    bars = START + rest(2) + note("C5", 2, tie("start")), note("C5", 1, tie("stop")) + note("C5", 3)
    assert onsets(part_of(*bars)) == ["2", "5"]


def test_a_tie_out_of_a_bar_left_short_still_holds() -> None:
    """Somebody forgot the dot; the note is held all the same."""
    short = START + note("C5", 3, tie("start")), note("C5", 4, tie("stop"))
    whole = START + note("C4", 4), note("C4", 4)
    assert onsets(part_of(*short), part_of(*whole)) == ["0"]


def test_a_pick_up_bar_is_as_long_as_what_is_played_in_it() -> None:
    """The piano's whole-bar rest beside a pick-up of one beat does not delay the piano."""
    tune = part_of(START + note("C5", 1), note("D5", 4), numbers=("0", "1"))
    piano = part_of(START + rest(4, whole=True), note("C3", 4), numbers=("0", "1"))
    assert onsets(tune, piano) == ["0", "1"]
    assert onsets(tune, piano, part=1) == ["1"]


def test_parts_never_fall_out_of_step() -> None:
    """One part left a bar short: all meet again at the next bar line, and the bar is named."""
    short = part_of(START + note("C5", 3), note("D5", 4))
    whole = part_of(START + note("C3", 4), note("D3", 4))
    assert onsets(short, whole) == onsets(short, whole, part=1) == ["0", "4"]
    (remark,) = read_score(score(short, whole), name="x").remarks
    assert remark == (
        "bar 1: Player 1 has 3 quarters where the bar has 4 quarters; the parts are kept in step"
    )


def test_the_longest_part_decides_where_none_fills_the_metre() -> None:
    """An overfull bar is as long as its notes."""
    parts = (
        part_of(START + note("C5", 5), note("D5", 4)),
        part_of(START + note("C3", 3), note("D3", 4)),
    )
    assert onsets(*parts, part=1) == ["0", "5"]


def test_a_part_that_fills_the_metre_decides_against_one_that_overfills_it() -> None:
    """What runs past the bar line is left out, and the bar is named."""
    over, whole = (
        part_of(START + note("C5", 1) * 5, note("D5", 4)),
        part_of(START + note("C3", 4), ""),
    )
    assert onsets(over, whole) == ["0", "1", "2", "3", "4"]
    assert "Player 1 has 5 quarters" in read_score(score(over, whole), name="x").remarks[0]
    read = read_score(score(over, whole), name="x")
    assert file_starts(read.bars) == [0, 4, 8]


def test_a_repeated_bar_is_filled_in() -> None:
    """A percent sign is played as the bar before it."""
    style = '<attributes><measure-style><measure-repeat type="{}">{}</measure-repeat></measure-style></attributes>'
    bars = (
        START + note("C5", 1) + note("C5", 3),
        style.format("start", "1") + rest(4),
        rest(4),
        style.format("stop", "") + note("C5", 4),
    )
    assert onsets(part_of(*bars)) == ["0", "1", "4", "5", "8", "9", "12"]


BEAT_AGAIN = '<attributes><measure-style><beat-repeat type="{}"/></measure-style></attributes>'


def test_a_repeated_beat_is_filled_in() -> None:
    """A stroke for each beat is played as the beat before it, also in the next bar."""
    bars = (
        attributes(2) + BEAT_AGAIN.format("start") + note("C5", 1) * 2,
        "",
        BEAT_AGAIN.format("stop") + note("C5", 8),
    )
    halves = [str(Fraction(half, 2)) for half in range(16)]
    assert onsets(part_of(*bars)) == [*halves, "8"]


def test_a_beat_that_is_written_is_not_filled_in() -> None:
    """Programs that write all the beats, as the format wants it, are read as they are."""
    written = note("C5", 2) + rest(2) + note("C5", 1) * 2 + note("C5", 2)
    begins = attributes(2) + BEAT_AGAIN.format("start")
    bars = begins + written, BEAT_AGAIN.format("stop") + note("C5", 8)
    assert onsets(part_of(*bars)) == ["0", "2", "5/2", "3", "4"]


LONG_REST = (
    "<attributes><measure-style><multiple-rest>4</multiple-rest></measure-style></attributes>"
)


def test_bars_missing_behind_a_multiple_rest_are_put_back() -> None:
    """Bar 2 is said to stand for four, and bar 6 is the next in the file."""
    bars = START + note("C5", 4), LONG_REST + rest(4, whole=True), note("C5", 4)
    assert onsets(part_of(*bars, numbers=("1", "2", "6"))) == ["0", "20"]
    every = [START + note("C5", 4), LONG_REST + rest(4, whole=True)]
    every += [rest(4, whole=True)] * 3
    assert onsets(part_of(*every, note("C5", 4))) == ["0", "20"]


def test_bars_put_back_in_one_part_keep_the_others_in_step() -> None:
    """The piano has all its bars in the file."""
    flute = START + note("C5", 4), LONG_REST + rest(4, whole=True), note("C5", 4)
    piano = (START + note("C3", 4), *[note("C3", 4)] * 5)
    both = part_of(*flute, numbers=("1", "2", "6")), part_of(*piano)
    assert onsets(*both) == ["0", "20"]
    assert onsets(*both, part=1) == ["0", "4", "8", "12", "16", "20"]


def test_empty_bars_last_as_long_as_their_metre() -> None:
    """A bar in which a program wrote nothing is a bar of rest."""
    assert onsets(part_of(START + note("C5", 4), "", note("C5", 4))) == ["0", "8"]


def test_a_metre_without_bars_lasts_as_long_as_it_is_written() -> None:
    """Senza misura: a cadenza of eleven quarters."""
    free = "<attributes><time><senza-misura/></time></attributes>"
    bars = START + note("C5", 4), free + note("C5", 11), note("C5", 2)
    read = read_score(score(part_of(*bars)), name="x")
    assert file_starts(read.bars) == [0, 4, 15, 17]


def test_a_time_wise_score_is_the_same_score() -> None:
    """Both forms of the standard are read."""
    part = '<part id="P0">{}</part>'
    bars = [START + note("C5", 4), note("C5", 2) + note("C5", 2)]
    text = score(part_of(*bars)).decode()
    turned = "".join(
        f'<measure number="{number}">{part.format(bar)}</measure>'
        for number, bar in enumerate(bars, start=1)
    )
    head = text[: text.index("<part id")].replace("partwise", "timewise")
    read = read_score(f"{head}{turned}</score-timewise>".encode(), name="x")
    assert [str(each.at) for each in joined_notes(read.parts[0].measures, read.bars)] == [
        "0", "4", "6",
    ]  # fmt: skip


def test_transposing_parts_sound_where_they_sound() -> None:
    """A clarinet's written D is the pianist's C."""
    change = "<transpose><diatonic>-1</diatonic><chromatic>-2</chromatic></transpose>"
    read = read_score(score(part_of(attributes(more=change) + note("D5", 4))), name="x")
    assert [each.pitch for each in joined_notes(read.parts[0].measures, read.bars)] == [72]


def test_an_alter_of_nothing_is_a_tie_all_the_same() -> None:
    """Some programs write alter 0 on one of two tied notes."""
    plain = note("C5", 2, tie("start"))
    zero = note("C5", 2, tie("stop")).replace("<octave>", "<alter>0</alter><octave>")
    assert onsets(part_of(START + plain + zero)) == ["0"]
