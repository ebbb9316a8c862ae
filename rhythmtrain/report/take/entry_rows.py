"""The entries of a take, one row a place: how each went, over all the repeats."""

from dataclasses import dataclass

from rhythmtrain.assess.findings import EntryFinding, Findings, Verdict
from rhythmtrain.report.take.flags import LITTLE, entries_amiss
from rhythmtrain.report.words import (
    bar_in_words,
    count_in_words,
    how_often,
    listed,
    rest_in_words,
    several,
)
from rhythmtrain.score.passage import Passage

NOT_HEARD = {str(Verdict.MISSED): "not heard"}


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One entry of the passage: where, after how much rest, and how it went each time."""

    bar: int
    place: str
    after: str
    went: str


def entry_rows(findings: Findings, passage: Passage) -> tuple[EntryRow, ...]:
    """Return one row for each entry of the passage that was heard for, in order."""
    amiss = entries_amiss(findings)
    places: dict[tuple[int, str], list[EntryFinding]] = {}
    for entry in findings.entries:
        places.setdefault((entry.bar, entry.count), []).append(entry)
    return tuple(
        EntryRow(
            bar,
            f"{bar_in_words(bar)}, {count_in_words(passage, bar, count)}",
            after(entries[0]),
            _went(entries, [_words(entry, plainly=entry in amiss) for entry in entries]),
        )
        for (bar, count), entries in places.items()
    )


def after(entry: EntryFinding) -> str:
    """Return after how much rest an entry comes: "after eight bars of rest"."""
    if entry.rest_bars:
        return f"after {several(entry.rest_bars, 'bar')} of rest"
    return f"after {rest_in_words(entry.rest_beats)} of rest" if entry.rest_beats else ""


def _words(entry: EntryFinding, *, plainly: bool) -> str:
    """Return how one entry went; one that is only a little out is said so."""
    if entry.verdict in LITTLE and not plainly:
        return f"in time or a little {entry.verdict}"
    return NOT_HEARD.get(entry.verdict, entry.verdict)


def _went(entries: list[EntryFinding], words: list[str]) -> str:
    parts = []
    for kind in dict.fromkeys(words):
        which = [entry.repeat for entry, said in zip(entries, words, strict=True) if said == kind]
        often = how_often(which, len(words))
        parts.append(f"{kind} {often}" if often else kind)
    return listed(parts)
