"""Which notes deserve a word: those plainly off, those off again and again, those missing.

A single note a little outside what honest players do is a dot in the picture and no more.  A word
is said only where a note lies beyond the 99 % line, or outside the 95 % line in the same direction
in at least two of three repeats.  What is told as a wrong figure or as an entry is not told again
note by note.
"""

from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from statistics import median

from rhythmtrain.assess.findings import EntryFinding, Findings, Mistake, NoteFinding, Verdict

OFTEN = 2 / 3
FEW_REPEATS = 3
LITTLE = (Verdict.EARLY, Verdict.LATE)
ALL = (*LITTLE, Verdict.MISSED)
Place = tuple[int, str]


@dataclass(frozen=True, slots=True)
class Flag:
    """One place of the passage of which something is said.

    ``which`` are the repeats (from 1) in which it was so, ``of`` how many were checked;
    ``away_s`` is the median distance from the player's habit, None where it was missing.
    """

    bar: int
    count: str
    verdict: Verdict
    which: tuple[int, ...]
    of: int
    away_s: float | None


def away_s(findings: Findings, note: NoteFinding) -> float | None:
    """Return how far from the player's habit a note came, in seconds, None where it did not."""
    if note.away_s is not None or note.offset_s is None:
        return note.away_s
    habit = findings.spread.median_s if findings.spread else 0.0
    return note.offset_s - (0.0 if findings.timing == "free" else habit)


def flags(findings: Findings) -> tuple[Flag, ...]:
    """Return the places to speak of, in the order of the passage."""
    entries = {(entry.bar, entry.count) for entry in findings.entries}
    figures = _told_as_figures(findings)
    found: list[Flag] = []
    for (bar, count), notes in _by_place(findings).items():
        if (bar, count) in entries:
            continue
        for verdict in (Verdict.MISSED,) if (bar, count) in figures else ALL:
            hit = [note for note in notes if note.verdict is verdict]
            if hit and deserves_a_word(hit, len(notes)):
                away = [off for note in hit if (off := away_s(findings, note)) is not None]
                which = tuple(note.repeat for note in hit)
                middle = median(away) if away else None
                found.append(Flag(bar, count, verdict, which, len(notes), middle))
    return tuple(found)


def deserves_a_word(hit: Sequence[NoteFinding], of: int) -> bool:
    """Tell whether ``hit``, the repeats of a place with one verdict, out of ``of``, need a word."""
    if hit[0].verdict is Verdict.MISSED or any(note.plain for note in hit):
        return True
    return of >= FEW_REPEATS and len(hit) >= OFTEN * of


def entries_amiss(findings: Findings) -> tuple[EntryFinding, ...]:
    """Return the entries that need a word.

    One that came a little early or late, once, is as little a fault as any other such note.
    """
    amiss = []
    by_place = _by_place(findings)
    for entry in findings.entries:
        if entry.verdict in (Verdict.IN_TIME, Verdict.NOT_CHECKED):
            continue
        if entry.verdict in LITTLE:
            notes = by_place.get((entry.bar, entry.count), [])
            hit = [note for note in notes if note.verdict == entry.verdict]
            if not (hit and deserves_a_word(hit, len(notes))):
                continue
        amiss.append(entry)
    return tuple(amiss)


def clean_bars(findings: Findings) -> tuple[int, ...]:
    """Return the bars in which every note was in time each time it was heard, in order."""
    if any(pooled(findings, mistake) for mistake in findings.mistakes):
        return ()
    troubled = set(_not_clean(findings))
    matched = {note.bar for note in findings.notes if note.verdict is Verdict.IN_TIME}
    return tuple(sorted(matched - troubled))


def pooled(findings: Findings, mistake: Mistake) -> bool:
    """Tell whether ``mistake`` stands for several places of the passage, not for one alone."""
    first = findings.notes[mistake.notes[0]] if mistake.notes else None
    if first is None:
        return False
    here = [n for n in findings.notes if (n.bar, n.count) == (first.bar, first.count)]
    return mistake.of > len(here)


def _not_clean(findings: Findings) -> Iterator[int]:
    for (bar, _), notes in _by_place(findings, checked=False).items():
        verdicts = {note.verdict for note in notes}
        if verdicts - {Verdict.IN_TIME, Verdict.NOT_CHECKED} or Verdict.IN_TIME not in verdicts:
            yield bar
    yield from (extra.bar for extra in findings.extras)
    yield from (mistake.bar for mistake in findings.mistakes)
    fine = (Verdict.IN_TIME, Verdict.NOT_CHECKED)
    yield from (entry.bar for entry in findings.entries if entry.verdict not in fine)


def _by_place(findings: Findings, *, checked: bool = True) -> dict[Place, list[NoteFinding]]:
    places: dict[Place, list[NoteFinding]] = defaultdict(list)
    for note in findings.notes:
        if not checked or note.verdict is not Verdict.NOT_CHECKED:
            places[note.bar, note.count].append(note)
    return places


def _told_as_figures(findings: Findings) -> set[Place]:
    indices = {index for mistake in findings.mistakes for index in mistake.notes}
    return {(findings.notes[index].bar, findings.notes[index].count) for index in indices}
