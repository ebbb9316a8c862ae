"""The lines of the findings: a value for every note, extra, entry and bar.

Here array indices become bars and counts again.
"""

from bisect import bisect_right
from collections import Counter, defaultdict
from fractions import Fraction

import numpy as np

from rhythmtrain.assess.findings import (
    BarFinding,
    Extra,
    NoteFinding,
    Tally,
    Verdict,
)
from rhythmtrain.assess.judging.judging import Judging
from rhythmtrain.score.counts import count_name

QUARTERS, SIXTHS = 4, 6
MATCHED = frozenset({Verdict.IN_TIME, Verdict.EARLY, Verdict.LATE})


def note_lines(judging: Judging) -> tuple[NoteFinding, ...]:
    """Return a finding for every note that the player was to play."""
    return tuple(_note_line(judging, number) for number in range(len(judging.written.index)))


def _note_line(judging: Judging, number: int) -> NoteFinding:
    index = int(judging.written.index[number])
    note = judging.timeline.notes[index]
    verdict = judging.judged.verdict[number]
    at = float(judging.expected_s[number])
    late = float(judging.offsets_s[number]) if verdict in MATCHED else None
    return NoteFinding(
        note=index,
        bar=note.note.bar,
        count=note.note.count,
        repeat=note.repeat,
        expected_s=at,
        played_s=None if late is None else at + late,
        offset_s=late,
        verdict=verdict,
        plain=bool(judging.judged.plain[number]),
        window_s=float(judging.judged.window_s[number]),
        away_s=None if late is None else float(judging.judged.away_s[number]),
    )


def extra_lines(judging: Judging) -> tuple[Extra, ...]:
    """Return the claps that belong to no note, each with the nearest bar and count.

    What was clapped more than a beat before the passage begins belongs to the count-in, and what
    comes as long after its end to nothing.
    """
    if not judging.rendition.extras:
        return ()
    times = judging.played_s[np.array(judging.rendition.extras)]
    order = np.argsort(judging.expected_s, kind="stable")
    expected = judging.expected_s[order]
    after = np.clip(np.searchsorted(expected, times), 1, max(len(expected) - 1, 1))
    after = np.minimum(after, len(expected) - 1)
    before = np.maximum(after - 1, 0)
    closer = times - expected[before] < expected[after] - times
    nearest = order[np.where(closer, before, after)]
    starts = [bar.start for bar in judging.timeline.bars]
    passage = [bar for bar in judging.timeline.bars if bar.index is not None]
    low = float(passage[0].start - passage[0].bar.metre.beats[0].length)
    high = float(passage[-1].stop + passage[-1].bar.metre.beats[-1].length)
    places = [_quarters_at(judging, float(t), int(n)) for t, n in zip(times, nearest, strict=True)]
    return tuple(
        Extra(float(time), *_count_at(judging, at, starts))
        for time, at in zip(times, places, strict=True)
        if low <= at <= high
    )


def _quarters_at(judging: Judging, time: float, note: int) -> float:
    """Return the written place at which ``time`` falls, seen from ``note``."""
    base = float(judging.rendition.base_s[note] + judging.rendition.shift_s[note])
    return judging.timeline.tempo.quarters((time - base) * judging.speed)


def _count_at(judging: Judging, at: float, starts: list[Fraction]) -> tuple[int, str]:
    """Return the bar and count (to a quarter of a beat) nearest to ``at`` quarters."""
    bar = judging.timeline.bars[max(bisect_right(starts, at) - 1, 0)]
    metre = bar.bar.metre
    finest = metre.beats[0].length / (SIXTHS if metre.beats[0].compound else QUARTERS)
    place = round((at - float(bar.nominal)) / float(finest)) * finest
    place = min(max(place, bar.bar.begins), bar.bar.ends - finest)
    return bar.bar.number, count_name(metre, max(place, Fraction(0)))


def bar_lines(notes: tuple[NoteFinding, ...], extras: tuple[Extra, ...]) -> tuple[BarFinding, ...]:
    """Return a finding for every bar in which something was checked, over all repeats."""
    by_bar: dict[int, list[NoteFinding]] = defaultdict(list)
    for note in notes:
        if note.verdict is not Verdict.NOT_CHECKED:
            by_bar[note.bar].append(note)
    numbers = sorted(set(by_bar) | {extra.bar for extra in extras})
    more = Counter(extra.bar for extra in extras)
    return tuple(_bar_line(number, by_bar[number], more[number]) for number in numbers)


def _bar_line(number: int, notes: list[NoteFinding], extras: int) -> BarFinding:
    late = [note.offset_s for note in notes if note.offset_s is not None]
    return BarFinding(
        number,
        len(late),
        sum(note.verdict is Verdict.MISSED for note in notes),
        extras,
        float(np.median(late)) if late else None,
        float(np.std(late, ddof=1)) if len(late) > 1 else None,
    )


def tally_of(notes: tuple[NoteFinding, ...], extras: int) -> Tally:
    """Return how many notes were expected, matched, missed and not checked, and claps too many."""
    verdicts = [note.verdict for note in notes]
    return Tally(
        len(verdicts),
        sum(verdict in MATCHED for verdict in verdicts),
        sum(verdict is Verdict.MISSED for verdict in verdicts),
        extras,
        sum(verdict is Verdict.NOT_CHECKED for verdict in verdicts),
    )
