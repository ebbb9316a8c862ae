"""Repeats and endings: the order in which written bars are played.

``|:`` opens, ``:|`` closes and sends the player back to the last ``|:`` (or to the bar after the
last closed repeat, or to the beginning).  Bars from one marked ``first time`` up to its ``:|``
are left out on the last time through; the bars marked ``second time`` follow then.
"""

from rhythmtrain.errors import DrillError
from rhythmtrain.score.passage import MOST_BARS, Bar

FIRST_TIME = 1


def as_played(bars: tuple[Bar, ...]) -> tuple[int, ...]:
    """Return the indices of ``bars`` in the order they are played.

    Raises:
        DrillError: more than 9 999 bars would be played.
    """
    order: list[int] = []
    start = 0
    for stop, bar in enumerate(bars):
        if bar.opens and stop > start:
            order.extend(range(start, stop))
            start = stop
        if bar.times:
            order.extend(_rounds(bars, start, stop))
            start = stop + 1
        if len(order) > MOST_BARS:
            break
    order.extend(range(start, len(bars)))
    if len(order) > MOST_BARS:
        raise DrillError(f"with its repeats the passage has more than {MOST_BARS} bars")
    return tuple(order)


def _rounds(bars: tuple[Bar, ...], start: int, stop: int) -> list[int]:
    first = next(
        (index for index in range(start, stop + 1) if bars[index].ending == FIRST_TIME), stop + 1
    )
    whole, last = range(start, stop + 1), range(start, first)
    return [index for _ in range(bars[stop].times - 1) for index in whole] + list(last)
