"""What a terminal sends, told as keys."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.devices.key_names import key_names

CASES = [
    (" ", ["space"]),
    ("xyä", ["x", "y", "ä"]),
    ("\r\n\t", ["enter", "enter", "tab"]),
    ("\x1b", ["escape"]),
    ("\x1b\x1b", ["escape", "escape"]),
    ("a\x1b", ["a", "escape"]),
    ("\x1b[A\x1b[D", ["up", "left"]),
    ("\x1bOC", ["right"]),
    ("\x1b[1;5A", ["up"]),
    ("\x1b[15~", ["key [15~"]),
    ("\x1bx", ["alt x"]),
    ("\x1b ", ["alt space"]),
    ("\x7f\x08", ["backspace", "backspace"]),
    ("\x00\x01", []),
    ("\x1b\x01", []),
]


@pytest.mark.parametrize(("typed", "names"), CASES)
def test_keys_have_names(typed: str, names: list[str]) -> None:
    """The player's hand is told apart from what the terminal adds."""
    assert list(key_names(typed)) == names


@given(st.text(max_size=40))
def test_any_text_is_a_row_of_named_keys(typed: str) -> None:
    """Nothing typed can break it, and every printable key without Escape counts once."""
    names = list(key_names(typed))
    assert all(names)
    if "\x1b" not in typed and typed.isprintable():
        assert len(names) == len(typed)
