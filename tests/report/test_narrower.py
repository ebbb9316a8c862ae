"""An answer in a narrow window."""

from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.report.lines import WIDTH, hanging, table
from rhythmtrain.report.narrower import narrower

WORDS = (
    "Every clap was there, and the fourth bar came a little late each time you played it, so go "
    "back to it slowly and count aloud."
)


def test_a_paragraph_with_a_label_hangs_in_a_narrow_window_as_it_did_in_a_wide_one() -> None:
    """Half a screen beside the music: no word alone on a line in between."""
    lines = narrower(hanging("First", WORDS), 60).split("\n")
    assert [line[:7] for line in lines] == ["First  ", *["       "] * (len(lines) - 1)]
    assert all(50 < len(line) <= 60 for line in lines[:-1])
    assert " ".join(" ".join(lines).split()) == f"First {WORDS}"


def test_a_table_keeps_its_columns() -> None:
    """What was heard stands beside where it was, also on its second line."""
    rows = [("bar 3, the and of 2", WORDS), ("bar 4, 1", "not heard")]
    lines = narrower(table(rows), 60).split("\n")
    column = len("  bar 3, the and of 2") + 2
    assert all(line[:column].isspace() for line in lines[1:-1])
    assert lines[-1] == f"  {'bar 4, 1':<{column - 2}}not heard"


def test_a_command_stays_in_one_piece() -> None:
    """So that it can be copied."""
    command = "  rhythmtrain clap towpath-entry --from mic:loopback --bars 10-14 --speed 0.8"
    assert narrower(f"To type next:\n{command}", 40).split("\n") == ["To type next:", command]


def test_a_wide_window_changes_nothing() -> None:
    """As it always was."""
    text = f"{hanging('Good', WORDS)}\n\n  a  table\n"
    assert narrower(text, WIDTH) == narrower(text, 200) == text


@given(st.lists(st.text("abcdef ", max_size=120), max_size=4), st.integers(30, 77))
def test_no_word_is_lost_and_nothing_is_too_wide(paragraphs: list[str], columns: int) -> None:
    """Whatever was said."""
    text = "\n\n".join(hanging("Then", each) for each in paragraphs)
    got = narrower(text, columns)
    assert got.split() == text.split()
    for line in got.split("\n"):
        assert len(line) <= columns or len(line.split()) <= 2
