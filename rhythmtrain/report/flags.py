"""Which notes deserve a word: those plainly off, those off again and again, those missing.

A single note a little outside what honest players do is a dot in the picture and no more.  A word
is said only where a note lies beyond the 99 % line, or outside the 95 % line in the same direction
in at least two of three repeats.
"""

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass
from statistics import median

from rhythmtrain.assess.findings import Findings, NoteFinding, Verdict

OFTEN = 2 / 3
FEW_REPEATS = 3


@dataclass(frozen=True, slots=True)
class Flag:
    """One place of the passage of which something is said.

    ``times`` of ``of`` checked repeats; ``offset_s`` is the median distance from the player's
    habit where it was early or late, None where it was missing.
    """

    bar: int
    count: str
    verdict: Verdict
    times: int
    of: int
    offset_s: float | None


def flags(findings: Findings) -> tuple[Flag, ...]:
    """Return the places to speak of, in the order of the passage."""
    places: dict[tuple[int, str], list[NoteFinding]] = defaultdict(list)
    for note in findings.notes:
        if note.verdict is not Verdict.NOT_CHECKED:
            places[note.bar, note.count].append(note)
    habit = findings.spread.median_s if findings.spread else 0.0
    found = []
    for (bar, count), notes in places.items():
        for verdict in (Verdict.EARLY, Verdict.LATE, Verdict.MISSED):
            hit = [note for note in notes if note.verdict is verdict]
            if hit and _deserves(hit, len(notes)):
                away = [note.offset_s - habit for note in hit if note.offset_s is not None]
                found.append(
                    Flag(bar, count, verdict, len(hit), len(notes), median(away) if away else None)
                )
    return tuple(found)


def clean_bars(findings: Findings, found: tuple[Flag, ...]) -> tuple[int, ...]:
    """Return the bars in which notes were heard and nothing needs a word, in order."""
    troubled = {flag.bar for flag in found} | {extra.bar for extra in findings.extras}
    troubled |= {mistake.bar for mistake in findings.mistakes}
    fine = (Verdict.IN_TIME, Verdict.NOT_CHECKED)
    troubled |= {entry.bar for entry in findings.entries if entry.verdict not in fine}
    return tuple(bar.bar for bar in findings.bars if bar.matched and bar.bar not in troubled)


def _deserves(hit: Sequence[NoteFinding], of: int) -> bool:
    if hit[0].verdict is Verdict.MISSED or any(note.plain for note in hit):
        return True
    return of >= FEW_REPEATS and len(hit) >= OFTEN * of
