"""A few bars of a passage, as a passage of their own.

The excerpt begins in the metre and tempo in force at its first bar.  A note that sounded before
the excerpt is not the player's to hold, so leading holds become silence.  Repeat signs stay only
where the excerpt holds the whole repeat.
"""

from dataclasses import replace

from rhythmtrain.errors import RequestError
from rhythmtrain.score.passage import Bar, Kind, Passage, Place, TempoMark, numbered
from rhythmtrain.score.repeats import repeats_of
from rhythmtrain.score.tempo import beats_a_minute, quarters_a_minute, tempo_at


def excerpt(passage: Passage, first: int, last: int) -> Passage:
    """Return bars ``first`` to ``last`` (as printed, both included) as a passage.

    Raises:
        RequestError: the bars do not exist or run backwards.
    """
    start, stop = numbered(passage, first), numbered(passage, last)
    while stop + 1 < len(passage.bars) and passage.bars[stop + 1].number == last:
        stop += 1
    if stop < start:
        raise RequestError(f"bars {first}-{last} run backwards: write the lower number first")
    bars = _with_whole_repeats(passage.bars, start, stop)
    opening = replace(bars[0], tempo=_gradual(passage, start))
    return replace(
        passage,
        tempo=tempo_at(passage, start),
        bars=unheld((opening, *bars[1:])),
        cue=unheld(_with_whole_repeats(passage.cue, start, stop)),
        marks=tuple(mark for mark in passage.marks if first <= mark.bar <= last),
    )


def _gradual(passage: Passage, start: int) -> TempoMark | None:
    """Return what is left at bar ``start`` of a tempo that changes gradually, if one does."""
    for index in range(start, -1, -1):
        mark = passage.bars[index].tempo
        if mark is None:
            continue
        left = index + mark.over_bars - start
        if mark.to is None or left <= 0:
            return None
        quarters = quarters_a_minute(mark.to, passage.bars[index].metre)
        to = beats_a_minute(quarters, passage.bars[start].metre)
        return TempoMark(tempo_at(passage, start), to, left)
    return None


def _with_whole_repeats(bars: tuple[Bar, ...], start: int, stop: int) -> tuple[Bar, ...]:
    """Return bars ``start`` to ``stop`` with the repeat signs of the repeats that lie inside.

    A repeat with a first time is whole when the second time follows it.
    """
    kept: dict[int, Bar] = {}
    for repeat in repeats_of(bars):
        endings = repeat.first_time <= repeat.stop
        if start <= repeat.start and repeat.stop + endings <= stop:
            kept |= {index: bars[index] for index in range(repeat.start, repeat.stop + 1)}
            if endings:
                second = repeat.stop + 1
                kept[second] = replace(bars[second], opens=False, times=0)
    return tuple(
        kept.get(index) or replace(bars[index], opens=False, times=0, ending=0)
        for index in range(start, min(stop + 1, len(bars)))
    )


def unheld(bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    """Return ``bars`` with the holds before the first note or rest made silent."""
    done: list[Bar] = []
    holding = True
    for bar in bars:
        places: list[Place] = []
        for place in bar.places:
            holding = holding and place.kind is Kind.HELD
            places.append(replace(place, kind=Kind.SILENT) if holding else place)
        holding = holding and bool(bar.places)
        done.append(replace(bar, places=tuple(places)))
    return tuple(done)
