"""The written tempo along a row of played bars, as a tempo map.

Counted bars go at the tempo of the bar they lead to; a pause holds the last beat before it.
"""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from rhythmtrain.score.passage import Passage
from rhythmtrain.score.tempo import speeds
from rhythmtrain.timing.playing_order import PlayedBar
from rhythmtrain.timing.tempomap import Stretch, TempoMap

PAUSE_FACTOR = 2


def tempo_along(passage: Passage, bars: tuple[PlayedBar, ...]) -> TempoMap:
    """Return the tempo map of ``bars``, which are those of ``passage`` as practised."""
    written = speeds(passage)
    stretches: list[Stretch] = []
    following = _following(bars)
    for place, played in enumerate(bars):
        begun, last = written[following[place]]
        if played.index is None:
            last = begun
        if played.bar.pause and place and bars[place - 1].index is not None:
            beat = bars[place - 1].bar.metre.beats[-1].length
            stretches[-1:] = _paused(stretches[-1], beat)
        stretches.append(Stretch(played.start, played.stop, begun / 60, last / 60))
    return TempoMap(tuple(_merged(stretches)))


def _following(bars: tuple[PlayedBar, ...]) -> list[int]:
    """Return for each played bar the written bar that it is, or that its count leads to."""
    found: list[int] = []
    index = 0
    for played in reversed(bars):
        index = index if played.index is None else played.index
        found.append(index)
    return found[::-1]


def _paused(stretch: Stretch, beat: Fraction) -> tuple[Stretch, ...]:
    """Return the bar before a pause with its last beat lasting twice as long.

    Common practice, no source: a pause about doubles what it stands on.
    """
    turn = max(stretch.start, stretch.stop - beat)
    met = stretch.speed + stretch.slope * float(turn - stretch.start)
    held = Stretch(turn, stretch.stop, met / PAUSE_FACTOR, stretch.last_speed / PAUSE_FACTOR)
    if turn == stretch.start:
        return (held,)
    return replace(stretch, stop=turn, last_speed=met), held


def _merged(stretches: list[Stretch]) -> Iterator[Stretch]:
    """Yield ``stretches`` with neighbours of one steady tempo joined."""
    waiting: Stretch | None = None
    for part in stretches:
        speeds_met = {part.speed, part.last_speed}
        if waiting and {waiting.speed, waiting.last_speed} == speeds_met and len(speeds_met) == 1:
            waiting = replace(waiting, stop=part.stop)
            continue
        if waiting:
            yield waiting
        waiting = part
    if waiting:
        yield waiting
