"""The last of a long sound is what was added, whatever was forgotten."""

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.hearing.live.tail import Tail


@given(st.lists(st.tuples(st.integers(0, 900), st.integers(0, 3000)), max_size=30))
def test_what_is_kept_lies_where_it_was_added(steps: list[tuple[int, int]]) -> None:
    """A frame that were off by one would be heard as a clap that is."""
    tail = Tail(7)
    added = forgotten = 7
    for count, before in steps:
        tail.add(np.arange(added, added + count, dtype=np.float32))
        added += count
        tail.forget(before, at_once=50)
        assert tail.stop == added
        assert np.array_equal(tail.sound, np.arange(tail.first, added))
        forgotten = max(forgotten, before)
        assert tail.first <= forgotten


def test_little_is_forgotten_at_once_or_not_at_all() -> None:
    """Moving a second of sound for every block would cost more than hearing it."""
    tail = Tail()
    tail.add(np.zeros(100, np.float32))
    tail.forget(40, at_once=50)
    assert tail.first == 0
    tail.forget(60, at_once=50)
    assert tail.first == 60
