"""What a person typed about the bars of a recording, as beats counted from the first one mapped."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.notate.beats.tapping import numbered_taps
from rhythmtrain.rehearsal.passages.passages import bar_range
from rhythmtrain.remedies import option, remedy
from rhythmtrain.timing.beatmap_text import read_place

_CLOCK = re.compile(r"(?:(\d{1,3}):)?(\d{1,5}(?:\.\d{1,6})?)", re.ASCII)
# Taps run ahead of beats; the first one may lie so far before the second at which listening begins.
AHEAD_AT_MOST_S = 0.25
_MARK = re.compile(r"([\d.]+)=(?:(\d{1,3}):)?(\d{1,5}(?:\.\d{1,6})?)", re.ASCII)

Marked = tuple[tuple[int, float], ...]


@dataclass(frozen=True, slots=True)
class MapWish:
    """What a person says of a recording, as typed; ``tapped_s`` are taps that were kept."""

    taps: Path | None = None
    at: tuple[str, ...] = ()
    bars: str | None = None
    bars_count: int | None = None
    start: str | None = None
    end: str | None = None
    metre: str = "4/4"
    beat: str | None = None
    tempo: float | None = None
    notes: Path | None = None
    part: str | None = None
    order: str | None = None
    again: Path | None = None
    live: bool = False
    on: str = "keys"
    loudspeaker: str | None = None
    dry_run: bool = False
    output: Path | None = None
    listen: Path | None = None
    plot: Path | None = None
    tapped_s: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Asked:
    """Which bars are to be mapped, and the marks: (beat from 0, second of the recording)."""

    first_bar: int
    count: int
    beats_a_bar: int
    anchors: Marked
    taps: Marked

    def fitting(self, duration_s: float) -> int:
        """Return how many beats there is time for, at the mean tempo of the marks.

        Only the last bar may be short, where the last mark stands in it: a piece often ends on its
        first beat, and the recording soon after.
        """
        marks = sorted((*self.anchors, *self.taps))
        (first, begun), (last, ended) = marks[0], marks[-1]
        if self.count - last > self.beats_a_bar or last == first:
            return self.count
        pace = (ended - begun) / (last - first)
        room = int((duration_s - ended) / pace) if pace > 0 else self.count
        return min(self.count, last + 1 + max(room, 0))


def asked_for(
    wish: MapWish, beats_a_bar: int, taps_s: Sequence[float], end_s: float | None
) -> Asked:
    """Return the bars and marks of ``wish``.

    Raises:
        RequestError: marks that name bars which are not to be mapped, or no bar to end with.
    """
    taps = numbered_taps(taps_s)
    places = [read_mark(text) for text in wish.at]
    first, last = _bars(wish, [bar for bar, _, _ in places], taps, beats_a_bar)
    anchors = [
        (_beat_number(bar, beat, (first, last), beats_a_bar), time) for bar, beat, time in places
    ]
    if end_s is not None:
        anchors.append(((last - first) * beats_a_bar, end_s))
    start_s = 0.0 if wish.start is None else seconds_of(wish.start)
    _check_order(anchors, start_s)
    if taps and taps[0][1] < start_s - AHEAD_AT_MOST_S and not wish.live:
        raise RequestError(
            f"the first tap, at {taps[0][1]:g} s, lies before the {start_s:g} s "
            f"{remedy('begin-earlier')}"
        )
    count = (last - first + 1) * beats_a_bar
    if taps and taps[-1][0] > count and not wish.live:
        raise RequestError(
            f"{taps[-1][0] + 1} beats were tapped, but bars {first}-{last} have {count}: check "
            f"{option('bars')} and {option('metre')}"
        )
    inside = tuple(tap for tap in taps if tap[0] < count)
    return Asked(first, count, beats_a_bar, tuple(anchors), inside)


def bars_to_tap(wish: MapWish, beats_a_bar: int) -> tuple[int, int | None]:
    """Return the first bar to be tapped live, and how many beats, None where nobody said."""
    if wish.bars is None and wish.bars_count is None:
        return 1, None
    first, last = _bars(wish, [], (), beats_a_bar)
    return first, None if wish.end is not None else (last - first + 1) * beats_a_bar


def seconds_of(text: str) -> float:
    """Return the seconds that "92.5" or "1:32.5" say, else RequestError."""
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        raise RequestError(f"{text!r} is not a second of a recording: write 92.5 or 1:32.5")
    return 60 * int(match[1] or 0) + float(match[2])


def _bars(wish: MapWish, marked: list[int], taps: Marked, beats_a_bar: int) -> tuple[int, int]:
    if wish.bars is not None and wish.bars_count is not None:
        raise RequestError(f"give {option('bars')} or {option('bars-count')}, not both")
    if wish.bars is not None:
        return bar_range(wish.bars)
    if wish.bars_count is not None:
        if wish.bars_count < 1:
            raise RequestError(f"{option('bars-count')} must be 1 or more, got {wish.bars_count}")
        return 1, wish.bars_count
    if wish.end is not None:
        raise RequestError(remedy("say-last-bar"))
    tapped = [1 + taps[-1][0] // beats_a_bar] if taps else []
    first = 1 if taps else min(marked)
    return first, max([*marked, *tapped, first])


def _check_order(anchors: Sequence[tuple[int, float]], start_s: float) -> None:
    """Refuse marks before the second from which the recording is heard, or that go backwards."""
    ordered = sorted(anchors)
    for _, time in ordered:
        if time < start_s:
            raise RequestError(
                f"a mark at {time:g} s lies before the {start_s:g} s {remedy('begin-earlier')}"
            )
    for (early, before), (late, after) in pairwise(ordered):
        if late > early and after <= before:
            raise RequestError(
                f"the marks at {before:g} s and {after:g} s go backwards: a later beat needs a "
                "later second"
            )


def _beat_number(bar: int, beat: int, bars: tuple[int, int], beats_a_bar: int) -> int:
    first, last = bars
    if not first <= bar <= last:
        raise RequestError(
            f"{remedy('mark-names', f'bar {bar}')}, but bars {first}-{last} are to be mapped"
        )
    if not 1 <= beat <= beats_a_bar:
        names = remedy("mark-names", f"beat {beat}")
        raise RequestError(f"{names}, but a bar has {beats_a_bar}: check {option('metre')}")
    return (bar - first) * beats_a_bar + beat - 1


def read_mark(text: str) -> tuple[int, int, float]:
    """Return bar, beat and second of a mark such as "17=21.7" or "17.2=1:21.7"."""
    match = _MARK.fullmatch(text.strip())
    try:
        if match is not None:
            return *read_place(match[1]), 60 * int(match[2] or 0) + float(match[3])
    except TakeError as error:
        raise RequestError(f"{option('at', text)}: {error}") from error
    raise RequestError(
        f"{option('at', text[:40])} does not read: write bar=seconds, such as "
        f"{remedy('value', 'at', '17=21.7')}"
    )
