"""How a take went, in the few words of a list."""

from dataclasses import replace

import pytest

from rhythmtrain.report.days.history_text import TakeLine, history_text, went

RIGHT = TakeLine(12, "Mill race", None, "2026-03-01", 72.0, True, True, 34, 0, 0, 0, 0)


@pytest.mark.parametrize(
    ("take", "words"),
    [
        (RIGHT, "nothing stood out"),
        (replace(RIGHT, complete=False), "a part; nothing stood out"),
        (replace(RIGHT, looks_like=False), "another piece"),
        (replace(RIGHT, looks_like=None, complete=False, expected=0), "not judged"),
    ],
)
def test_a_take_of_which_nothing_is_known_is_not_praised(take: TakeLine, words: str) -> None:
    """A take that came in with its onsets alone was held against nothing yet."""
    assert went(take) == words
    assert words in history_text([take], more=False)
