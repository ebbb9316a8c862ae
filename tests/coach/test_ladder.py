"""The ladder of tempi: marks every musician knows, from slow to written."""

from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.coach.ladder import DIAL, MARKS, ladder, next_mark, row
from rhythmtrain.errors import RequestError

# As printed on the dial of a mechanical metronome (read in several open sources).
PRINTED = """
40 42 44 46 48 50 52 54 56 58 60 63 66 69 72 76 80 84 88 92 96 100 104 108 112 116 120 126 132 138
144 152 160 168 176 184 192 200 208
"""


def test_the_dial_has_the_marks_of_a_mechanical_metronome() -> None:
    """A player finds every rung on the metronome at home (marks as printed on the dial)."""
    assert row(DIAL) == " ".join(PRINTED.split())


def test_one_mark_is_a_step_of_three_to_six_percent() -> None:
    """Each step up is small enough to be hardly felt; 3.4 to 5.6 % by the dial's own rule."""
    steps = [b / a - 1 for a, b in pairwise(DIAL)]
    assert min(steps) == pytest.approx(4 / 116)
    assert max(steps) == pytest.approx(8 / 144)


def test_a_ladder_goes_from_half_to_the_written_tempo() -> None:
    """The row a teacher reads aloud."""
    assert row(ladder(72)) == "36 38 42 46 52 56 63 72"
    assert row(ladder(120)) == "60 66 72 80 92 100 108 120"


@given(st.floats(20, 300), st.floats(0.2, 1), st.integers(1, 20))
def test_a_ladder_rises_and_ends_at_the_written_tempo(
    tempo: float, slowest: float, rungs: int
) -> None:
    """Whatever is asked, the last rung is the tempo of the piece and no rung is passed twice."""
    tempi = ladder(tempo, slowest=slowest, rungs=rungs)
    assert tempi[-1] == tempo
    assert list(tempi) == sorted(set(tempi))
    assert len(tempi) <= rungs
    assert all(each >= slowest * tempo for each in tempi)


def test_the_next_mark_is_higher_until_the_marks_end() -> None:
    """What is called a little faster is always a mark above."""
    assert float(next_mark(72)) == 76
    assert float(next_mark(70)) == 72
    assert float(next_mark(2000)) == MARKS[-1]


@given(st.floats(40, 200))
def test_a_little_faster_is_never_the_tempo_just_played(tempo: float) -> None:
    """Whoever played at 57.7 is not sent to 58 as if that were a step."""
    assert 1.02 < float(next_mark(tempo)) / tempo < 1.08


@pytest.mark.parametrize("slowest", [0.0, -1.0, 1.2])
def test_a_slowest_share_outside_the_piece_is_refused(slowest: float) -> None:
    """A ladder cannot begin faster than it ends."""
    with pytest.raises(RequestError, match="share of 0 to 1"):
        ladder(72, slowest=slowest)


def test_a_ladder_without_rungs_is_refused() -> None:
    """Nobody climbs a ladder of none."""
    with pytest.raises(RequestError, match="at least one tempo"):
        ladder(72, rungs=0)
