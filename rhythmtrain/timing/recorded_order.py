"""Which bar of a recording is which written bar.

A map numbers bars as printed.  Where a passage has repeats and the map goes on far enough, the
recording plays them, and its bars are numbered on as they are played; otherwise the recording
plays each bar once and a repeat goes back in it.
"""

from collections.abc import Iterator

from rhythmtrain.score.passage import Bar, Passage
from rhythmtrain.score.repeats import as_played
from rhythmtrain.timing.beatmap import BeatMap

Rows = list[tuple[int, int]]


def recorded_order(score: Passage, beat_map: BeatMap) -> tuple[Rows, bool]:
    """Return (index, bar number in the map) of the bars as recorded; whether repeats are played."""
    order = as_played(score.bars)
    written = list(range(len(score.bars)))
    played = list(_numbered(score.bars, order))
    if list(order) != written and beat_map.bars[1] >= played[-1][1]:
        return played, True
    return [(index, score.bars[index].number) for index in written], False


def _numbered(bars: tuple[Bar, ...], order: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    """Yield (index, number) of bars numbered on as they are played; parts of a bar share one."""
    number = bars[order[0]].number
    for place, index in enumerate(order):
        bar = bars[index]
        shares = bar.begins and place and bar.begins == bars[order[place - 1]].ends
        number += 1 if place and not shares else 0
        yield index, number
