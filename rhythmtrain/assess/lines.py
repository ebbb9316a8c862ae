"""The lines of the findings: a value for every note, extra, entry and bar.

Here array indices become bars and counts again.
"""

from collections import defaultdict
from fractions import Fraction

import numpy as np

from rhythmtrain.assess.findings import (
    BarFinding,
    Extra,
    NoteFinding,
    Tally,
    Verdict,
)
from rhythmtrain.assess.judging import Judging
from rhythmtrain.assess.written import Written
from rhythmtrain.score.counts import count_name

MATCHED = frozenset({Verdict.IN_TIME, Verdict.EARLY, Verdict.LATE})


def note_lines(judging: Judging) -> tuple[NoteFinding, ...]:
    """Return a finding for every note of the timeline; notes only heard are not checked."""
    rank = {int(index): number for number, index in enumerate(judging.written.index)}
    expected, offsets = judging.expected_s, judging.offsets_s
    opening = float(judging.rendition.base_s[0])
    lines = []
    for index, played in enumerate(judging.timeline.notes):
        number = rank.get(index)
        place = (index, played.note.bar, played.note.count, played.repeat)
        if number is None:
            at = opening + float(judging.timeline.seconds(played.at)) / judging.speed
            lines.append(NoteFinding(*place, at, None, None, Verdict.NOT_CHECKED, False, 0.0))
            continue
        verdict = judging.judged.verdict[number]
        late = float(offsets[number]) if verdict in MATCHED else None
        at = float(expected[number])
        lines.append(
            NoteFinding(
                *place,
                at,
                None if late is None else at + late,
                late,
                verdict,
                bool(judging.judged.plain[number]),
                float(judging.judged.window_s[number]),
            )
        )
    return tuple(lines)


def extra_lines(judging: Judging) -> tuple[Extra, ...]:
    """Return the claps that belong to no note, each with the nearest bar and count."""
    return tuple(
        Extra(
            float(judging.played_s[clap]), *_nearest_count(judging, float(judging.played_s[clap]))
        )
        for clap in judging.rendition.extras
    )


def _nearest_count(judging: Judging, time: float) -> tuple[int, str]:
    """Return the bar and the count (to a quarter of a beat) nearest to a second of the take."""
    nearest = int(np.argmin(np.abs(judging.expected_s - time)))
    base = judging.rendition.base_s[nearest] + judging.rendition.shift_s[nearest]
    at = judging.timeline.tempo.quarters((time - float(base)) * judging.speed)
    bars = judging.timeline.bars
    inside = [bar for bar in bars if float(bar.start) <= at] or [bars[0]]
    bar = inside[-1]
    metre = bar.bar.metre
    finest = metre.beats[0].length / (6 if metre.beats[0].compound else 4)
    steps = round((at - float(bar.nominal)) / float(finest))
    place = min(max(steps * finest, bar.bar.begins), bar.bar.ends - finest)
    return bar.bar.number, count_name(metre, max(place, Fraction(0)))


def bar_lines(notes: tuple[NoteFinding, ...], extras: tuple[Extra, ...]) -> tuple[BarFinding, ...]:
    """Return a finding for every bar in which something was checked, over all repeats."""
    by_bar: dict[int, list[NoteFinding]] = defaultdict(list)
    for note in notes:
        if note.verdict is not Verdict.NOT_CHECKED:
            by_bar[note.bar].append(note)
    numbers = sorted(set(by_bar) | {extra.bar for extra in extras})
    return tuple(_bar_line(number, by_bar[number], extras) for number in numbers)


def _bar_line(number: int, notes: list[NoteFinding], extras: tuple[Extra, ...]) -> BarFinding:
    late = [note.offset_s for note in notes if note.offset_s is not None]
    return BarFinding(
        number,
        len(late),
        sum(note.verdict is Verdict.MISSED for note in notes),
        sum(extra.bar == number for extra in extras),
        float(np.median(late)) if late else None,
        float(np.std(late, ddof=1)) if len(late) > 1 else None,
    )


def tally_of(notes: tuple[NoteFinding, ...], written: Written, extras: int) -> Tally:
    """Return how many of the player's notes were expected, matched, missed and not checked."""
    mine = set(written.index.tolist())
    verdicts = [note.verdict for note in notes if note.note in mine]
    return Tally(
        len(verdicts),
        sum(verdict in MATCHED for verdict in verdicts),
        sum(verdict is Verdict.MISSED for verdict in verdicts),
        extras,
        sum(verdict is Verdict.NOT_CHECKED for verdict in verdicts),
    )
