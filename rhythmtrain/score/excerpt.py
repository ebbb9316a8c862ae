"""A few bars of a passage, as a passage of their own.

The excerpt begins in the metre and tempo in force at its first bar.  A note that sounded before
the excerpt is not the player's to hold, so leading holds become silence.  Repeat signs stay only
where the excerpt holds the whole repeat.
"""

from dataclasses import replace

from rhythmtrain.errors import RequestError
from rhythmtrain.score.passage import Bar, Kind, Passage, Place, TempoMark, numbered
from rhythmtrain.score.tempo import tempo_at


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
    bars = _whole_repeats(passage.bars[start : stop + 1])
    tempo = tempo_at(passage, start)
    opening = replace(bars[0], tempo=_gradual(passage.bars[start]))
    return replace(
        passage,
        tempo=tempo,
        bars=unheld((opening, *bars[1:])),
        cue=unheld(_whole_repeats(passage.cue[start : stop + 1])),
        marks=tuple(mark for mark in passage.marks if first <= mark.bar <= last),
    )


def _gradual(bar: Bar) -> TempoMark | None:
    return bar.tempo if bar.tempo is not None and bar.tempo.to is not None else None


def _whole_repeats(bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    opens = any(bar.opens for bar in bars)
    closes = any(bar.times for bar in bars)
    endings = {bar.ending for bar in bars} - {0}
    if opens and closes and endings in (set(), {1, 2}):
        return bars
    return tuple(replace(bar, opens=False, times=0, ending=0) for bar in bars)


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
