"""Counting a long rest: the bar's number replaces its "one".

"1 2 3 4, 2 2 3 4, 3 2 3 4" (eLessons, "Multiple measure rests").  Only whole silent bars are
numbered: the nearly empty bar before the rest is not part of it, a common slip, and the bar of the
entry begins with its own "one".  A single bar of rest is the first, so it is counted like any bar.
Numbers go to a hundred; a longer rest begins again at one, as players do who count in hundreds.
Who begins in the middle of a rest counts its bars from where the rest begins.
"""

from rhythmtrain.timing.timeline import PlayedBar, Timeline

HIGHEST_NUMBER = 100


def bar_numbers(timeline: Timeline) -> dict[int, int]:
    """Return the number said for each bar of rest, by its index in the timeline."""
    numbers: dict[int, int] = {}
    rest: list[int] = []
    silent = silent_bars(timeline)
    for place, played in enumerate(timeline.bars):
        if rest and not (place in silent and _same_phrase(timeline.bars[place - 1], played)):
            numbers |= _numbered(timeline, rest)
            rest = []
        if place in silent:
            rest.append(place)
    return numbers | _numbered(timeline, rest)


def silent_bars(timeline: Timeline) -> set[int]:
    """Return the indices of the whole bars of the passage in which no note sounds."""
    silent = {
        place
        for place, played in enumerate(timeline.bars)
        if played.index is not None and played.bar.length == played.bar.metre.length
    }
    for note in timeline.notes:
        place = note.place
        stop = note.at + note.note.length
        while place < len(timeline.bars) and timeline.bars[place].start < stop:
            silent.discard(place)
            place += 1
    return silent


def _numbered(timeline: Timeline, rest: list[int]) -> dict[int, int]:
    gone = timeline.passage.rested if rest and _opens(timeline, rest[0]) else 0
    return {place: number % HIGHEST_NUMBER + 1 for number, place in enumerate(rest, start=gone)}


def _opens(timeline: Timeline, place: int) -> bool:
    """Return whether the passage begins at ``place``."""
    bars = timeline.bars
    return bars[place].index == 0 and not (place and _same_phrase(bars[place - 1], bars[place]))


def _same_phrase(before: PlayedBar, after: PlayedBar) -> bool:
    return (before.role, before.run) == (after.role, after.run)
