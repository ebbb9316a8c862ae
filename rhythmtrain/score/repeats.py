"""Repeats and endings: the order in which written bars are played.

``|:`` opens, ``:|`` closes and sends the player back to the last ``|:`` (or to the bar after the
last closed repeat, or to the beginning).  Bars from one marked ``first time`` up to its ``:|``
are left out on the last time through; the bars marked ``second time`` follow then.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rhythmtrain.errors import DrillError
from rhythmtrain.score.passage import MOST_BARS, Bar

FIRST_TIME = 1


@dataclass(frozen=True, slots=True)
class Repeat:
    """One repeat: the indices of its first and last bar, and of its first time (or past the end).

    ``times`` is how often in all it is played.
    """

    start: int
    stop: int
    first_time: int
    times: int

    def order(self) -> Iterator[int]:
        """Yield the indices of its bars as played; the last time leaves out the first time."""
        for _ in range(self.times - 1):
            yield from range(self.start, self.stop + 1)
        yield from range(self.start, self.first_time)


def repeats_of(bars: tuple[Bar, ...]) -> tuple[Repeat, ...]:
    """Return the repeats of ``bars`` in order; none lies in another."""
    found = []
    start = 0
    for stop, bar in enumerate(bars):
        if bar.opens:
            start = stop
        if bar.times:
            inside = range(start, stop + 1)
            first = (index for index in inside if bars[index].ending == FIRST_TIME)
            found.append(Repeat(start, stop, next(first, stop + 1), bar.times))
            start = stop + 1
    return tuple(found)


def ending_numbers(bars: Sequence[Bar]) -> dict[int, str]:
    """Return what is printed over each ending ("1", "1, 2", "3"), by the bar that it begins with."""
    found: dict[int, str] = {}
    last = FIRST_TIME + 1
    for at, bar in enumerate(bars):
        if bar.ending == FIRST_TIME:
            last = next((each.times for each in bars[at:] if each.times), FIRST_TIME + 1)
            found[at] = ", ".join(map(str, range(FIRST_TIME, last)))
        elif bar.ending:
            found[at] = str(last)
    return found


def as_played(bars: tuple[Bar, ...]) -> tuple[int, ...]:
    """Return the indices of ``bars`` in the order they are played.

    Raises:
        DrillError: more than 9 999 bars would be played.
    """
    order: list[int] = []
    done = 0
    for repeat in repeats_of(bars):
        order.extend(range(done, repeat.start))
        order.extend(repeat.order())
        done = repeat.stop + 1
        if len(order) > MOST_BARS:
            break
    order.extend(range(done, len(bars)))
    if len(order) > MOST_BARS:
        raise DrillError(
            f"with its repeats the rhythm has more than {MOST_BARS} bars: repeat less often"
        )
    return tuple(order)
