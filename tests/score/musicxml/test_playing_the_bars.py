"""Repeats, endings and jumps of a score in the order in which they are played."""

from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.score.musicxml.document import read_score
from rhythmtrain.score.musicxml.order import BarSigns, bar_signs, order_played
from rhythmtrain.score.musicxml.passage import Reading, part_passage
from rhythmtrain.score.passage import notes_of
from rhythmtrain.score.repeats import as_played
from tests.simulate.musicxml_text import attributes, note, part_of, score, sounded, tie

OPEN = '<barline location="left"><repeat direction="forward"/></barline>'
CLOSE = '<barline location="right"><repeat direction="backward"/></barline>'


def ending(number: str, kind: str, more: str = "") -> str:
    """Return one end of an ending's bracket."""
    return f'<barline><ending number="{number}" type="{kind}"/>{more}</barline>'


BACK = '<repeat direction="backward"/>'


def reading(*bars: str) -> Reading:
    """Return the only part of a score of ``bars`` as a passage."""
    read = read_score(score(part_of(attributes() + bars[0], *bars[1:])), name="x.musicxml")
    return part_passage(read, read.parts[0])


def played(*signs: str) -> str:
    """Return the numbers of the bars as played, of bars with these signs."""
    passage = reading(*(note("C5", 4) + sign for sign in signs)).passage
    return " ".join(str(passage.bars[at].number) for at in as_played(passage.bars))


def test_repeats_and_endings() -> None:
    """What stands once on the page is played as often as the page says."""
    assert played("", OPEN, CLOSE, "") == "1 2 3 2 3 4"
    assert played("", CLOSE, "") == "1 2 1 2 3"
    thrice = CLOSE.replace('"backward"', '"backward" times="3"')
    assert played(OPEN, thrice) == "1 2 1 2 1 2"
    first, second = ending("1", "start") + ending("1", "stop", BACK), ending("2", "start")
    assert played(OPEN, first, second + ending("2", "stop"), "") == "1 2 1 3 4"
    assert played(OPEN, first, second + ending("2", "stop", BACK), "") == "1 2 1 3 4"
    assert played(OPEN, first, "") == "1 2 1 3"
    assert played(OPEN, CLOSE, second + ending("2", "stop"), "") == "1 2 1 2 3 4"


def test_an_ending_for_two_times_is_a_first_time_that_comes_twice() -> None:
    """A passage has signs for it."""
    both = ending("1, 2", "start") + ending("1, 2", "stop", BACK)
    last = ending("3", "start") + ending("3", "discontinue")
    assert played(OPEN, both, last, "") == "1 2 1 2 1 3 4"
    bars = reading(note("C5", 4) + OPEN, note("C5", 4) + both, note("C5", 4) + last).passage.bars
    assert [(bar.opens, bar.times, bar.ending) for bar in bars] == [
        (True, 0, 0), (False, 3, 1), (False, 0, 2),
    ]  # fmt: skip


def test_a_third_ending_is_written_out_and_that_is_said() -> None:
    """A passage has signs for two endings; more is written out."""
    one = ending("1", "start") + ending("1", "stop", BACK)
    two = ending("2", "start") + ending("2", "stop", BACK)
    three = ending("3", "start") + ending("3", "discontinue")
    assert played(OPEN, one, two, three) == "1 2 1 3 1 4"
    notes = [note("C5", 4) + each for each in (OPEN, one, two, three)]
    remarks = reading(*notes).remarks
    assert "jumps and endings are written out as played: 6 bars, of 4 in the score" in remarks


def test_a_second_time_without_a_first_is_played_all_the_same() -> None:
    """A page torn from its piece is no empty page."""
    assert played(ending("2", "start"), ending("2", "stop")) == "1 2"


def test_da_capo_al_fine() -> None:
    """Back to the beginning, without repeats, to the end."""
    fine, jump = sounded('fine="yes"'), sounded('dacapo="yes"')
    assert played(OPEN, CLOSE + fine, jump) == "1 2 1 2 3 1 2"


def test_dal_segno_al_coda() -> None:
    """Back to the sign, and away to the coda where it says so."""
    signs = (
        "",
        sounded('segno="A"'),
        sounded('tocoda="B"'),
        sounded('dalsegno="A"'),
        sounded('coda="B"'),
    )
    assert played(*signs) == "1 2 3 4 2 3 5"


def test_the_same_in_printed_words() -> None:
    """Some programs only print it."""
    word = "<direction><direction-type><words>{}</words></direction-type></direction>".format
    assert played("", word("Fine"), word("D.C. al Fine")) == "1 2 3 1 2"
    coda = "<direction><direction-type><coda/></direction-type></direction>"
    segno = coda.replace("coda", "segno")
    assert played(segno, coda, word("D.S. al Coda"), coda) == "1 2 3 1 2 4"


def test_a_note_tied_into_the_second_time_is_held_there() -> None:
    """It was begun before the first time, so nobody claps it again."""
    bars = (
        OPEN + note("C5", 4, tie("start")),
        ending("1", "start") + note("C5", 4, tie("stop")) + ending("1", "stop", BACK),
        ending("2", "start") + note("C5", 2, tie("stop")) + note("D5", 2) + ending("2", "stop"),
    )
    passage = reading(*bars).passage
    order = tuple(passage.bars[at] for at in as_played(passage.bars))
    assert [str(each.at) for each in notes_of(order)] == ["0", "8", "14"]


def test_a_tempo_comes_back_with_the_bars_that_have_it() -> None:
    """After da capo the opening tempo holds again."""
    slow, fine = sounded('tempo="60"'), sounded('tempo="90"')
    jump = sounded('dacapo="yes"')
    passage = reading(slow + note("C5", 4), fine + note("C5", 4) + jump).passage
    assert float(passage.tempo) == 60
    assert [None if bar.tempo is None else float(bar.tempo.bpm) for bar in passage.bars] == [
        None, 90.0, 60.0, 90.0,
    ]  # fmt: skip


@given(
    st.lists(
        st.builds(
            BarSigns,
            opens=st.booleans(),
            closes=st.booleans(),
            times=st.integers(0, 4),
            endings=st.sampled_from([(), (), (1,), (2,), (1, 2), (3,)]),
            jumps=st.frozensets(
                st.sampled_from(["dacapo", "dalsegno", "segno", "tocoda", "coda", "fine"])
            ),
        ),
        min_size=1,
        max_size=12,
    )
)
def test_any_row_of_signs_comes_to_an_end(signs: list[BarSigns]) -> None:
    """Signs that contradict each other send nobody round for ever."""
    order = order_played(signs, name="x")
    assert len(order) < 500
    assert all(0 <= at < len(signs) for at in order)


def test_signs_of_any_part_count_for_all() -> None:
    """Programs write repeats into the first part only, or into all."""
    plain, signed = (
        part_of(note("C5", 4), note("C5", 4)),
        part_of(note("C4", 4), note("C4", 4) + CLOSE),
    )
    read = read_score(score(plain, signed), name="x")
    assert order_played(bar_signs([part.measures for part in read.parts]), name="x") == (0, 1, 0, 1)
