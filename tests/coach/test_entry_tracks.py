"""An entry course on paper: one try for each step of help, the lead-in varying."""

from itertools import pairwise
from random import Random

from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.coach.entry_course import Course
from rhythmtrain.coach.entry_tracks import entry_tracks


@given(st.integers(0, 60), st.integers(2, 8), st.integers())
def test_help_thins_by_a_step_and_the_last_try_is_from_the_top(
    bars: int, steps: int, seed: int
) -> None:
    """However long the rest, the course ends with all of it and no help."""
    tries = entry_tracks(Course(bars, steps), Random(seed))  # noqa: S311
    assert [each.help for each in tries] == list(range(steps))
    assert any(each.from_top for each in tries)
    assert all(each.lead <= bars for each in tries)
    if bars > 4:
        assert all(one.lead != other.lead for one, other in pairwise(tries) if not other.from_top)
