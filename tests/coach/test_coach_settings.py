"""The numbers: each has a ground, each can be set, and none to nonsense."""

from dataclasses import fields

import pytest

from rhythmtrain.coach.settings import (
    GROUNDS,
    LIMITS,
    MEANINGS,
    USUAL,
    Order,
    Settings,
    settings_of,
)
from rhythmtrain.errors import RequestError


def test_every_number_says_whether_it_is_supported_or_custom() -> None:
    """Custom is never sold as science."""
    names = {each.name for each in fields(Settings)}
    assert set(GROUNDS) == names
    assert set(MEANINGS) == names
    assert set(LIMITS) == names - {"order"}
    for name, ground in GROUNDS.items():
        assert ground.startswith(("supported by ", "custom")), name


def test_numbers_are_read_from_a_table() -> None:
    """As they stand in the settings file."""
    assert settings_of({}) == USUAL
    set_here = settings_of({"slow": 0.5, "runs": 3, "order": "mix"})
    assert (set_here.slow, set_here.runs, set_here.order) == (0.5, 3, Order.MIX)
    assert settings_of({"passages": 4.0}).passages == 4


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ({"slw": 0.5}, "there is no practice setting 'slw': did you mean slow?"),
        ({"zzzzzz": 1}, "there are order, slow"),
        ({"slow": 3}, "slow must be 0.1 to 1, got 3"),
        ({"slow": float("nan")}, "slow must be 0.1 to 1"),
        ({"slow": "half"}, "slow must be a number, got 'half'"),
        ({"runs": True}, "runs must be a number"),
        ({"runs": 2.5}, "runs must be a whole number, got 2.5"),
        ({"order": "sideways"}, "order must be gradual, alternating, mix, got 'sideways'"),
    ],
)
def test_a_wrong_number_is_named(table: dict[str, object], words: str) -> None:
    """With what is allowed."""
    with pytest.raises(RequestError, match=words.replace("?", r"\?").replace("(", r"\(")):
        settings_of(table)
