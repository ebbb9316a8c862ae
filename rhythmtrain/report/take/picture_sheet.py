"""Where everything in the picture of a take goes, in points from its upper left corner.

A quarter is equally long in every row.  It is as long as the closest counts need to stand beside
each other, within what a page holds; where even that is too narrow, beats go before the places
between them and the others are left out.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from rhythmtrain.report.take.picture_rows import Row, Spot, came_words, label_of, rows_of
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.score.passage import Bar, Kind
from rhythmtrain.timing.timeline import Timeline

LEFT, RIGHT = 40.0, 14.0
NARROWEST, WIDEST = 226.0, 560.0
KEY_HEIGHT = 24.0
COUNT_Y, NOTE_Y, LANE_Y = 8.0, 20.0, 27.0
LANE_HEIGHT, REPEAT_HEIGHT, TALLEST_LANE = 11.0, 6.5, 65.0
GAP = 11.0
WORDS_HEIGHT = 12.0
REST_HEIGHT = 22.0
TEXT, LETTER = 8.5, 5.4
OVERHANG = 0.3


@dataclass(frozen=True, slots=True)
class Sheet:
    """Where everything goes: points from the left edge and from the top."""

    rows: tuple[Row, ...]
    tops: tuple[float, ...]
    height: float
    scale: float
    lanes: dict[int, tuple[int, ...]]
    words: dict[int, tuple[str, str]]

    @property
    def width(self) -> float:
        """Return how wide the picture is."""
        longest = max(float(row.bar.metre.length) for row in self.rows)
        return LEFT + longest * self.scale + RIGHT

    def x(self, at: float) -> float:
        """Return where a place of a bar lies, ``at`` quarters after where its beat 1 lies."""
        return LEFT + at * self.scale

    def lane_height(self, index: int) -> float:
        """Return how tall the lane of the bar at ``index`` is."""
        return _lane_height(len(self.lanes.get(index, ())))


def laid_out(heard: Heard, timeline: Timeline, spots: Sequence[Spot]) -> Sheet:
    """Return where the rows of a take go, with room for ``spots`` in their lanes."""
    rows = rows_of(timeline.passage.bars)
    repeats: dict[int, set[int]] = defaultdict(set)
    for spot in spots:
        repeats[spot.index].add(spot.repeat)
    lanes = {index: tuple(sorted(which)) for index, which in repeats.items()}
    words = came_words(heard, timeline)
    tops, at = [], KEY_HEIGHT
    for row in rows:
        tops.append(at)
        lane = LANE_Y + _lane_height(len(lanes.get(row.index, ()))) + GAP
        at += REST_HEIGHT if row.rest else lane + WORDS_HEIGHT * (row.index in words)
    longest = max(float(row.bar.metre.length) for row in rows)
    wanted = max((_scale_wanted(row.bar) for row in rows if not row.rest), default=0.0)
    scale = min(max(wanted, NARROWEST / longest), WIDEST / longest)
    return Sheet(rows, tuple(tops), at, scale, lanes, words)


def _lane_height(repeats: int) -> float:
    return min(max(LANE_HEIGHT, REPEAT_HEIGHT * (repeats + 1)), TALLEST_LANE)


def _scale_wanted(bar: Bar) -> float:
    """Return the points a quarter needs for every count of ``bar`` to have room."""
    return max(
        (
            (_half(label_of(bar, one)) + _half(label_of(bar, two))) / float(two.at - one.at)
            for one, two in pairwise(bar.places)
        ),
        default=0.0,
    )


def _half(label: str) -> float:
    """Return half the room that ``label`` takes, with a little air."""
    return (LETTER * len(label) + 2.0) / 2


def edges(sheet: Sheet, bar: Bar) -> tuple[float, float]:
    """Return the ends of a bar's lane, which leave room for what came just outside the bar."""
    over = OVERHANG * float(bar.metre.beats[0].length) * sheet.scale
    over = min(over, RIGHT - 3)
    return sheet.x(float(bar.begins)) - over, sheet.x(float(bar.ends)) + over


def labels(sheet: Sheet, bar: Bar) -> Iterator[tuple[float, str, bool]]:
    """Yield the counts that have room, beats before the places between them."""
    beats = {beat.start for beat in bar.metre.beats}
    taken: list[tuple[float, float]] = []
    for place in sorted(bar.places, key=lambda place: (place.at not in beats, place.at)):
        label = label_of(bar, place)
        x, half = sheet.x(float(place.at)), _half(label) - 0.5
        if all(x + half <= low or high <= x - half for low, high in taken):
            taken.append((x - half, x + half))
            yield x, label, place.kind is Kind.PLAYED


def spot_at(sheet: Sheet, spot: Spot) -> tuple[float, float]:
    """Return where a mark is drawn: never outside its lane."""
    number = bisect_right(sheet.rows, spot.index, key=lambda row: row.index) - 1
    row, top = sheet.rows[number], sheet.tops[number]
    if row.rest:
        return _spot_in_rest(sheet, spot, row), top + REST_HEIGHT / 2
    low, high = edges(sheet, row.bar)
    lanes = sheet.lanes[spot.index]
    step = sheet.lane_height(spot.index) / (len(lanes) + 1)
    y = top + LANE_Y + step * (lanes.index(spot.repeat) + 1)
    return min(max(sheet.x(spot.at), low + 2), high - 2), y


def _spot_in_rest(sheet: Sheet, spot: Spot, row: Row) -> float:
    """Return where along a row of rest bars a mark lies, as if the bars stood in it side by side."""
    length = float(row.bar.metre.length)
    along = (spot.index - row.index + spot.at / length) / row.bars
    return sheet.x(min(max(along, 0.0), 1.0) * length)
