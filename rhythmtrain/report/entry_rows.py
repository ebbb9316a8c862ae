"""The entries of a take, one row a place: how each went, over all the repeats."""

from dataclasses import dataclass

from rhythmtrain.assess.findings import EntryFinding, Findings
from rhythmtrain.report.words import beats_in_words, count_in_words, listed, several, times
from rhythmtrain.score.passage import Passage

BOTH = 2


@dataclass(frozen=True, slots=True)
class EntryRow:
    """One entry of the passage: where, after how much rest, and how it went each time."""

    bar: int
    count: str
    after: str
    went: str
    right: bool


def entry_rows(findings: Findings, passage: Passage) -> tuple[EntryRow, ...]:
    """Return one row for each entry of the passage, in order."""
    places: dict[tuple[int, str], list[EntryFinding]] = {}
    for entry in findings.entries:
        places.setdefault((entry.bar, entry.count), []).append(entry)
    return tuple(
        EntryRow(
            bar,
            count_in_words(passage, bar, count),
            _after(entries[0]),
            _went([entry.verdict for entry in entries]),
            all(entry.verdict == "in time" for entry in entries),
        )
        for (bar, count), entries in places.items()
    )


def _after(entry: EntryFinding) -> str:
    if entry.rest_bars:
        return f"after {several(entry.rest_bars, 'bar')} of rest"
    return f"after {beats_in_words(entry.rest_beats)} of rest" if entry.rest_beats else ""


def _went(verdicts: list[str]) -> str:
    if len(verdicts) == 1:
        return verdicts[0]
    kinds = list(dict.fromkeys(verdicts))
    if len(kinds) == 1:
        every = "both times" if len(verdicts) == BOTH else f"all {times(len(verdicts))}"
        return f"{kinds[0]}, {every}"
    return listed([f"{kind} {times(verdicts.count(kind))}" for kind in kinds])
