"""The screen while a track plays, read as a player sees it."""

import re
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.report.screen.block_digits import DOTS, ROWS, large
from rhythmtrain.report.screen.live import MARGIN, LiveScreen, Moment
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from tests.simulate.passages import bar, passage, passages

JUDGING = re.compile(
    r"good|great|perfect|well|miss|early|late|wrong|right|oops|combo|streak|score|\d+ ?ms",
    re.IGNORECASE,
)


def _rag(tempo: float = 60, **practice: int) -> Timeline:
    piece = passage(
        bar(1, "0", "1/4", "3/4", "1", "3/2", metre="2/4", held=("1/2",)),
        bar(2, metre="2/4"),
        bar(3, metre="2/4"),
        bar(4, "1/2", silent=("0", "1"), metre="2/4"),
        tempo=tempo,
    )
    return lay_out(piece, Practice(**practice))


def _framed(lines: tuple[str, ...]) -> list[str]:
    """Return what stands in the frame: counts and lane."""
    return [line.strip()[1:-1] for line in lines if line.strip().startswith("│")]


def _large(lines: tuple[str, ...]) -> str:
    """Return the large number, read back from its blocks."""
    rows = [line for line in lines if "█" in line]
    for number in range(100):
        wanted = [row.rstrip() for row in large(number)]
        left = min((len(row) - len(row.lstrip()) for row in rows), default=0)
        lead = min(len(row) - len(row.lstrip()) for row in wanted)
        if [row[left:] for row in rows] == [row[lead:].rstrip() for row in wanted]:
            return str(number)
    return ""


def test_the_sounding_bar_stands_in_a_frame_with_its_counts_where_they_lie() -> None:
    """One sees at a glance where one is."""
    counts, _ = _framed(LiveScreen(_rag()).lines(Moment(0.2)))
    assert counts.split() == ["1", "e", "[&]", "a", "2", "&"]
    assert counts.index("2") == len(counts) // 2
    assert len(counts) == 80 - 2 * MARGIN


def test_a_clap_is_marked_where_in_the_bar_it_fell_and_nothing_is_said_of_it() -> None:
    """Whether it was right is for afterwards."""
    lines = LiveScreen(_rag()).lines(Moment(1.5, (0.0, 1.0, 1.49)))
    counts, lane = _framed(lines)
    assert lane[0] == "^"
    assert lane[counts.index("2")] == "^"
    assert lane.count("^") == 3
    assert not JUDGING.search("\n".join(lines))


def test_the_bar_before_and_the_next_stand_without_a_frame() -> None:
    """The eye may look ahead, and back at what was clapped."""
    lines = LiveScreen(_rag()).lines(Moment(2.1, (0.5,)))
    frame = next(index for index, line in enumerate(lines) if "┌" in line)
    assert lines[frame - 2].split() == ["1", "e", "[&]", "a", "2", "&"]
    assert lines[frame - 1].strip() == "^"
    assert lines[frame + 4].split() == ["(2)", "(2)"]


def test_a_rest_is_counted_by_its_bars() -> None:
    """1 2, 2 2: the large number is the bar's on its first beat."""
    screen = LiveScreen(_rag())
    shown = [_large(screen.lines(Moment(0.1 + beat))) for beat in range(8)]
    assert shown == ["1", "2", "1", "2", "2", "2", "1", "2"]


def test_the_name_of_the_bar_says_what_it_is_for() -> None:
    """Counting in, listening, answering, the second time."""
    screen = LiveScreen(_rag(count_in=1, repeats=2, between=1))
    names = [screen.lines(Moment(2.0 * bar + 0.1))[2].strip() for bar in (0, 1, 5, 6)]
    assert names == ["Counting in", "Bar 1, time 1", "A counted bar", "Bar 1, time 2"]
    echoed = LiveScreen(_rag(echo=2))
    assert "listen" in echoed.lines(Moment(0.1))[2]
    assert "your answer" in echoed.lines(Moment(4.1))[2]


def test_before_and_after_the_track_there_still_is_a_screen() -> None:
    """The first and last frame are drawn too."""
    screen = LiveScreen(_rag())
    assert _framed(screen.lines(Moment(-1.0)))[0].split()[0] == "1"
    assert _framed(screen.lines(Moment(99.0, (98.0, -1.0))))[0].split() == ["(1)", "&", "(2)"]


@pytest.mark.parametrize("tempo", [40, 90, 170, 181, 250, 300, 400])
def test_nothing_flashes_oftener_than_three_times_a_second(tempo: float) -> None:
    """Flashing light can bring on a fit (WCAG 2.3.1): the number changes slowly or not at all."""
    timeline = _rag(tempo, repeats=4)
    screen = LiveScreen(timeline)
    stop_ms = int(timeline.track_seconds(timeline.stop) * 1000)
    shown = [(ms, _large(screen.lines(Moment(ms / 1000)))) for ms in range(0, stop_ms, 20)]
    changes = [ms for (_, before), (ms, after) in pairwise(shown) if before != after]
    assert all(later - earlier >= 1000 / 3 - 20 for earlier, later in pairwise(changes))
    assert tempo < 180 or {number for _, number in shown} <= {"1", "2", ""}


def test_bars_too_quick_for_a_number_show_none() -> None:
    """Even a downbeat may come too fast."""
    piece = passage(*(bar(n, "0", metre="2/4") for n in range(1, 9)), tempo=480)
    assert _large(LiveScreen(lay_out(piece)).lines(Moment(0.1))) == ""


def test_an_upbeat_keeps_its_counts() -> None:
    """It begins where it is first counted."""
    piece = passage(bar(0, "3", "7/2", begins=3), bar(1, "0"), tempo=60)
    lines = LiveScreen(lay_out(piece)).lines(Moment(0.1))
    assert lines[2].strip() == "The upbeat"
    assert _framed(lines)[0].split() == ["4", "&"]
    assert _large(lines) == "4"


@settings(max_examples=60, deadline=None)
@given(passages(), st.floats(-1, 60), st.lists(st.floats(-1, 60), max_size=8), st.integers(20, 200))
def test_every_screen_fits(
    piece: Passage, now_s: float, claps_s: list[float], columns: int
) -> None:
    """At most 80 by 24, also in a window of 60 columns, whatever is played."""
    screen = LiveScreen(lay_out(piece, Practice(count_in=1, repeats=2)))
    moment = Moment(now_s, tuple(claps_s), "A title " * 20, ("A line below " * 20,) * 3)
    lines = screen.lines(moment, columns=columns)
    assert len(lines) <= 24
    assert all(len(line) <= min(max(columns, 40), 80) for line in lines)
    assert len({len(line) for line in lines if line.strip()[:1] in ("┌", "│", "└")}) == 1


def test_a_narrow_window_leaves_out_finer_counts_before_beats() -> None:
    """What is left must still be right."""
    beats = [Fraction(n) for n in range(4)]
    finer = [Fraction(n, 8) for n in range(32)]
    piece = passage(bar(1, *finer), tempo=60)
    counts, _ = _framed(LiveScreen(lay_out(piece)).lines(Moment(0.1), columns=60))
    assert len(counts) == 54
    assert [text for text in counts.split() if text.isdigit()] == ["1", "2", "3", "4"]
    assert len(beats) < len(counts.split()) < len(finer)


def test_every_digit_has_its_own_shape() -> None:
    """A 6 must not look like an 8."""
    assert len(set(DOTS.values())) == len(DOTS) == 10
    assert all(len(rows) == ROWS and {len(row) for row in rows} == {4} for rows in DOTS.values())
    assert large(12)[0] == f"{large(1)[0]}  {large(2)[0]}"
    assert large(None) == ("",) * ROWS


@pytest.mark.parametrize("most", range(10, 25))
def test_on_a_low_screen_the_count_the_bar_and_the_foot_stay(most: int) -> None:
    """A small window still tells how one stops, and to start quiet."""
    screen = LiveScreen(_rag())
    foot = ("Escape stops.", "Start quiet.")
    moments = [Moment(time, (0.5, 1.6), "Kitchen Rag", foot) for time in (0.2, 2.1, 4.4, 7.9)]
    shown = [screen.lines(moment, columns=60, most=most) for moment in moments]
    assert max(map(len, shown)) <= most
    for lines in shown if most >= 14 else ():
        assert lines[-2:] == foot
        assert lines[0] == "Kitchen Rag"
        assert _large(lines)
        assert len(_framed(lines)) == 2
    frames = [next(n for n, line in enumerate(lines) if "┌" in line) for lines in shown]
    assert len(set(frames)) == 1, "the frame must not jump from bar to bar"
