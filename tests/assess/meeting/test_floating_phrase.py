"""By how much a phrase came late, though it floats over the recording."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.assess.meeting.floating_phrase import readings

AFTER = (0.0, 0.5, 1.0, 1.5, 2.5)
ERROR = 0.05


def test_what_floats_after_its_first_note_came_as_the_first_note_did() -> None:
    """A beat late and hurrying back is a beat late, and not three quarters of one."""
    moved, _ = readings(AFTER, (1.0, 0.85, 0.75, 0.72, 0.7), ERROR)
    assert moved.share > 0.9
    assert moved.late == pytest.approx(1.0, abs=0.05)
    assert moved.error < 0.08


def test_a_hesitated_first_note_is_told_from_a_miscount() -> None:
    """The notes after it are together with the piano: the count was right."""
    moved, hesitated = readings(AFTER, (0.5, 0.02, -0.03, 0.0, 0.01), ERROR)
    assert hesitated.share > 0.9
    assert abs(hesitated.late) < 0.1 < moved.late


def test_one_note_alone_is_as_late_as_it_is() -> None:
    """An entry of one note leaves nothing else to ask."""
    moved, hesitated = readings((0.0,), (0.97,), ERROR)
    assert moved.late == hesitated.late == pytest.approx(0.97)
    assert moved.error == pytest.approx(ERROR)
    assert hesitated.error > moved.error


@given(
    st.lists(st.floats(-0.5, 0.5), min_size=len(AFTER), max_size=len(AFTER)), st.floats(-8.0, 8.0)
)
def test_a_phrase_so_much_later_reads_so_much_later(late: list[float], by: float) -> None:
    """A bar out is read as surely as a beat out."""
    before = readings(AFTER, late, ERROR)
    after = readings(AFTER, [each + by for each in late], ERROR)
    for once, again in zip(before, after, strict=True):
        assert again.late == pytest.approx(once.late + by, abs=1e-6)
        assert again.error == pytest.approx(once.error)
        assert again.share == pytest.approx(once.share, abs=1e-6)
