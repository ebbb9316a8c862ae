"""The screen while a track plays: which bar sounds, its counts, where in it each clap fell.

Three bars stand under each other: the one before, the one that sounds, in a frame, and the next.
A place stands as far along its line as it lies in its bar, and under it, in a lane, is a mark for
every clap.  No line sweeps along, and no word or sign says whether a clap was right: that is said
afterwards.  One large number gives the count; in a long rest the first beat gives the number of the
bar, as one counts rests.

Nothing flashes: the number and the frame change three times a second at most (WCAG 2.3.1).  Where
beats come faster only the downbeat's number is shown, where bars do none.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise
from textwrap import wrap

from rhythmtrain.prompts.rests import bar_numbers
from rhythmtrain.report.screen.block_digits import large
from rhythmtrain.report.screen.rows import claps_row, counts_row
from rhythmtrain.report.words import bar_in_words
from rhythmtrain.timing.timeline import PlayedBar, Role, Timeline

WIDEST, NARROWEST, MOST_ROWS = 80, 40, 24
MARGIN = 3
KEPT, NEXT, BEFORE, EMPTY = range(4)  # what may go on a low screen, the last first
SHORTEST_S = 1 / 3
ROLES = {
    Role.COUNT_IN: "counting in",
    Role.BETWEEN: "a counted bar",
    Role.LISTEN: "listen",
    Role.ANSWER: "your answer",
}


@dataclass(frozen=True, slots=True)
class Moment:
    """What there is to show: the track time that is heard now, and of every clap so far.

    ``head`` stands above, cut where it is too long, ``foot`` below.
    """

    now_s: float
    claps_s: tuple[float, ...] = ()
    head: str = ""
    foot: tuple[str, ...] = ()


class LiveScreen:
    """The screen of one timeline."""

    def __init__(self, timeline: Timeline) -> None:
        """Work out once where every bar begins, and what is counted in rests."""
        self._timeline = timeline
        self._starts_s = [float(timeline.track_seconds(bar.start)) for bar in timeline.bars]
        self._stop_s = float(timeline.track_seconds(timeline.stop))
        self._numbers = bar_numbers(timeline)
        self._zero_s = float(timeline.tempo.seconds(timeline.start))

    def lines(
        self, moment: Moment, *, columns: int = WIDEST, most: int = MOST_ROWS
    ) -> tuple[str, ...]:
        """Return the screen at ``moment``: at most ``most`` lines, none wider than ``columns``.

        On a low screen what is empty goes first, then the bar before, then the next.
        """
        wide = max(min(columns, WIDEST), NARROWEST)
        here = self._bar_at(moment.now_s)
        inner = wide - 2 * MARGIN
        number = large(self._count(here, moment.now_s))
        frame = _framed(self._line(here, inner), self._lane(here, inner, moment.claps_s), inner)
        before = self._plain(here - 1, inner, moment.claps_s)
        foot = [part for line in moment.foot for part in wrap(line, wide)]
        rows = [(KEPT, moment.head), (EMPTY, ""), (KEPT, self._name(here)), (EMPTY, "")]
        rows += [(KEPT, row.center(wide)) for row in number]
        rows += [(EMPTY, ""), *((BEFORE, row) for row in before), *((KEPT, row) for row in frame)]
        rows += [(NEXT, self._plain(here + 1, inner, ())[0]), (EMPTY, "")]
        rows += [(KEPT, row) for row in foot]
        return tuple(row[:wide].rstrip() for row in _fitted(rows, min(most, MOST_ROWS)))

    def played_at(self, time_s: float) -> PlayedBar:
        """Return the bar that sounds at ``time_s``; the first before it, the last after it."""
        return self._timeline.bars[self._bar_at(time_s)]

    def _bar_at(self, time_s: float) -> int:
        return max(bisect_right(self._starts_s, time_s) - 1, 0)

    def _name(self, place: int) -> str:
        played = self._timeline.bars[place]
        words = [] if played.index is None else [bar_in_words(played.bar.number)]
        words += [ROLES[played.role]] if played.role in ROLES else []
        if played.index is not None and self._timeline.practice.repeats > 1:
            words.append(f"time {played.run}")
        said = ", ".join(words)
        return f"{' ' * MARGIN}{said[:1].upper()}{said[1:]}"

    def _count(self, place: int, now_s: float) -> int | None:
        """Return the number to be shown large, or None."""
        played = self._timeline.bars[place]
        spots = [
            (index, self._at_s(played, beat.start))
            for index, beat in enumerate(played.bar.metre.beats)
            if played.bar.begins <= beat.start < played.bar.ends
        ]
        ends_s = self._end_s(place)
        if not spots or ends_s - self._starts_s[place] < SHORTEST_S:
            return None
        times = [*(time for _, time in spots), ends_s]
        if min(after - before for before, after in pairwise(times)) < SHORTEST_S:
            spots = spots[:1] if spots[0][0] == 0 else []
        begun = [index for index, time in spots if time <= now_s]
        if not begun:
            return None
        return self._numbers.get(place, 1) if begun[-1] == 0 else begun[-1] + 1

    def _at_s(self, played: PlayedBar, into: Fraction) -> float:
        return float(self._timeline.track_seconds(played.nominal + into))

    def _end_s(self, place: int) -> float:
        return (*self._starts_s, self._stop_s)[place + 1]

    def _plain(self, place: int, inner: int, claps_s: Sequence[float]) -> tuple[str, str]:
        """Return the counts and the lane of a bar that does not sound now; empty outside."""
        if not 0 <= place < len(self._timeline.bars):
            return "", ""
        edge = " " * MARGIN
        return edge + self._line(place, inner), edge + self._lane(place, inner, claps_s)

    def _line(self, place: int, inner: int) -> str:
        return counts_row(self._timeline.bars[place], inner, rest=self._numbers.get(place))

    def _lane(self, place: int, inner: int, claps_s: Sequence[float]) -> str:
        """Return a mark for every clap that fell in a bar; none falls before the track or after."""
        played, tempo = self._timeline.bars[place], self._timeline.tempo
        begins_s, ends_s = self._starts_s[place], self._end_s(place)
        quarters = [
            tempo.quarters(time_s + self._zero_s)
            for time_s in claps_s
            if begins_s <= time_s < ends_s
        ]
        return claps_row(played, inner, quarters)


def _fitted(rows: list[tuple[int, str]], most: int) -> list[str]:
    """Return at most ``most`` of ``rows``, each of which comes with when it may go."""
    may_go = sorted((n for n, (when, _) in enumerate(rows) if when), key=lambda n: -rows[n][0])
    gone = set(may_go[: max(len(rows) - most, 0)])
    return [row for n, (_, row) in enumerate(rows) if n not in gone][:most]


def _framed(line: str, lane: str, inner: int) -> tuple[str, ...]:
    edge = " " * (MARGIN - 1)
    bar = "─" * inner
    return (
        f"{edge}┌{bar}┐",
        f"{edge}│{line}│",
        f"{edge}│{lane}│",
        f"{edge}└{bar}┘",
    )
