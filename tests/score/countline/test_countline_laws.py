"""Laws of the count line: any text is bars or a DrillError; what is written reads back the same."""

from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.countline.cue import read_cue
from rhythmtrain.score.countline.writer import write_bars, write_cue
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, notes_of
from tests.simulate.written_bars import LAW, METRES, written_bars

WORDS = (
    "1", "2", "3", "4", "5", "&", "e", "a", "la", "li", "ta", "+", "(", ")", "[", "]", ">", "|", "|:",
    ":|", ":|:", "x3", "rest 2", "metre 3/4", "metre 6/8", "tempo 96", "tempo 90 to 60 over 2 bars",
    "first time", "second time", "pause", '"A"', "2+1/5", "# remark\n", "\n", "trip let", "x", "rest",
)  # fmt: skip


def _bars_or_none(text: str, metre: Metre) -> tuple[Bar, ...] | None:
    try:
        return read_bars(text, metre)
    except DrillError:
        return None


@LAW
@given(bars=written_bars())
def test_what_was_written_reads_back_as_the_same_bars(bars: tuple[Bar, ...]) -> None:
    """A drill that is saved and opened again is the same drill, with the same spelling."""
    text = write_bars(bars)
    again = read_bars(text, bars[0].metre)
    assert again == bars
    assert write_bars(again) == text


@LAW
@given(text=st.text(max_size=60), metre=st.sampled_from(METRES))
def test_any_text_is_bars_or_a_sentence(text: str, metre: Metre) -> None:
    """Nothing that a person can type ends in a traceback."""
    bars = _bars_or_none(text, metre)
    assert bars is None or len(bars) > 0


@LAW
@given(words=st.lists(st.sampled_from(WORDS), max_size=14), metre=st.sampled_from(METRES))
def test_any_row_of_words_is_bars_that_can_be_written_or_a_sentence(
    words: list[str], metre: Metre
) -> None:
    """Text close to a rhythm is where slips hide; what reads must also write and read again."""
    bars = _bars_or_none(" ".join(words), metre)
    if bars is not None:
        first = bars[0].metre
        assert read_bars(write_bars(bars), first) == bars


@LAW
@given(bars=written_bars(), data=st.data())
def test_removing_one_letter_gives_bars_or_a_sentence(
    bars: tuple[Bar, ...], data: st.DataObject
) -> None:
    """A slip of one key is told, or is another rhythm; it is never a crash."""
    text = write_bars(bars)
    at = data.draw(st.integers(0, len(text) - 1))
    read = _bars_or_none(text[:at] + text[at + 1 :], bars[0].metre)
    assert read is None or len(read) > 0


@LAW
@given(bars=written_bars())
def test_a_cue_beside_its_rhythm_reads_back_as_the_same_cue(bars: tuple[Bar, ...]) -> None:
    """The accompanist's rhythm keeps to the player's bars, whatever repeats and upbeats they have."""
    cue = read_cue(write_cue(bars, bars), bars).bars
    assert notes_of(cue) == notes_of(bars)
    assert [bar.length for bar in cue] == [bar.length for bar in bars]
