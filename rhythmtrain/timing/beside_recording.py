"""A timeline laid on a recording: every written place at the second the accompanist gives it.

The tempo map of such a timeline goes through the mapped beats.  Where the recording goes on from
one bar to the next, so does the map, with the bars that the recording plays before and after too.
Where it does not (a repeat that the recording does not play, another run) the track is cut there,
as it was when the player practised with it.  Bars that are heard and then answered sound twice: the
answer goes back to where what was heard began, and is held against that very playing; into the bars
heard next the recording goes on.  Counted bars before a run are the recording's own bars before it;
where it has none, they keep the tempo in which the next bar begins.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from rhythmtrain.timing.playing_order import PlayedBar, Role
from rhythmtrain.timing.recorded_bars import MappedPassage
from rhythmtrain.timing.tempomap import through
from rhythmtrain.timing.timeline import Timeline

Point = tuple[Fraction, float]


@dataclass(frozen=True, slots=True)
class Laid:
    """Bars that follow each other in the recording too: from ``start`` to ``stop`` quarters.

    ``later`` is how many quarters of the timeline each place lies after its place in the
    recording; None where no recording plays.
    """

    start: Fraction
    stop: Fraction
    later: Fraction | None


def on_recording(timeline: Timeline, mapped: MappedPassage) -> Timeline:
    """Return ``timeline`` with its places at the recording's seconds, slowed to its speed.

    ``mapped`` is the timeline's own passage laid on the recording.
    """
    stretches = tuple(laid_bars(timeline, mapped))
    points = _points(stretches, mapped)
    speed = timeline.practice.speed
    doubts = tuple((at, unsure / speed) for at, unsure in _doubts(stretches, mapped))
    return replace(timeline, tempo=through(points).faster(speed), doubts=doubts)


def laid_bars(timeline: Timeline, mapped: MappedPassage) -> Iterator[Laid]:
    """Yield the stretches of the timeline, which follow on each other, in order."""
    open_: Laid | None = None
    for bar, later in placed_bars(timeline, mapped):
        if open_ is not None and open_.later == later:
            open_ = replace(open_, stop=bar.stop)
            continue
        if open_ is not None:
            yield open_
        open_ = Laid(bar.start, bar.stop, later)
    if open_ is not None:
        yield open_


def placed_bars(
    timeline: Timeline, mapped: MappedPassage
) -> Iterator[tuple[PlayedBar, Fraction | None]]:
    """Yield every bar with how much later it lies than in the recording."""
    found = _passage_placed(timeline, mapped)
    after: Fraction | None = None
    for place in range(len(timeline.bars) - 1, -1, -1):
        bar = timeline.bars[place]
        if bar.index is None and after is not None and mapped.covers(bar.start - after):
            found[place] = after
        after = found[place]
    yield from zip(timeline.bars, found, strict=True)


def _passage_placed(timeline: Timeline, mapped: MappedPassage) -> list[Fraction | None]:
    """Return how much later each bar of the passage lies than in the recording; None for others.

    Each run goes through the passage once, and so do the bars heard and the answers in it.
    """
    passed: Counter[Role] = Counter()
    found: list[Fraction | None] = []
    for bar in timeline.bars:
        if bar.index is None:
            found.append(None)
            continue
        found.append(bar.start - mapped.starts[passed[bar.role] % len(mapped.starts)])
        passed[bar.role] += 1
    return found


def _points(stretches: tuple[Laid, ...], mapped: MappedPassage) -> list[Point]:
    """Return the anchors of the tempo map: (quarters of the timeline, seconds)."""
    points: dict[Fraction, float] = {}
    passed_s = 0.0
    for number, stretch in enumerate(stretches):
        following = next(
            (each.later for each in stretches[number:] if each.later is not None), None
        )
        if stretch.later is None:
            begin = stretch.stop - (following or 0)
            quarter_s = mapped.second(begin + 1) - mapped.second(begin)
            points.setdefault(stretch.start, passed_s)
            passed_s += float(stretch.stop - stretch.start) * quarter_s
            points[stretch.stop] = passed_s
            continue
        base_s = passed_s - mapped.second(stretch.start - stretch.later)
        first, last = number == 0, number == len(stretches) - 1
        for quarter in mapped.quarters:
            at = quarter + stretch.later
            if (first or at > stretch.start) and (last or at < stretch.stop):
                points[at] = mapped.second(quarter) + base_s
        for at in (stretch.start, stretch.stop):
            points[at] = mapped.second(at - stretch.later) + base_s
        passed_s = points[stretch.stop]
    return sorted(points.items())


def _doubts(stretches: tuple[Laid, ...], mapped: MappedPassage) -> Iterator[Point]:
    """Yield (quarters of the timeline, standard error of the beat there), in order."""
    for stretch in stretches:
        if stretch.later is None:
            continue
        for quarter, beat in zip(mapped.quarters, mapped.beat_map.beats, strict=True):
            at = quarter + stretch.later
            if stretch.start <= at <= stretch.stop:
                yield at, beat.uncertainty_s or 0.0
