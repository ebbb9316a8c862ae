"""Which runs of a kept take went right, from the document that was kept with it.

It says the same as ``coach.runs_heard`` said when the take was played (a test holds the two
together), and is some hundred times quicker than judging the take again: a session begins with
all the takes of weeks.
"""

from collections import defaultdict
from typing import Any

from rhythmtrain.assess.findings import Verdict
from rhythmtrain.coach.runs_heard import LITTLE, MOST_UNCHECKED
from rhythmtrain.storage.history.history import KeptTake

EXACT = ("keys", "midi")
OFF = (Verdict.EARLY, Verdict.LATE)
Row = dict[str, Any]
Place = tuple[int, int]


def kept_runs(take: KeptTake) -> tuple[int, int]:
    """Return how many runs a kept take holds, and how many went right; (0, 0) where it tells none."""
    document = take.record.document
    if document.get("looks_like_the_passage") is False:
        return 0, 0
    notes = _notes(document)
    runs = _by_run(notes, take.record.repeats)
    wrong = _wrong(document, notes, exact=take.record.source in EXACT)
    whole = max(map(len, runs.values()), default=0)
    stopped = take.record.conditions.stopped
    heard = right = 0
    for played in runs.values():
        unchecked = sum(note["verdict"] == Verdict.NOT_CHECKED for note in played)
        short = len(played) < whole or (stopped and len(runs) == 1)
        if not short and unchecked <= MOST_UNCHECKED * len(played):
            heard += 1
            right += not document.get("shift") and wrong.isdisjoint(map(_place, played))
    return heard, right


def _wrong(document: Row, notes: list[Row], *, exact: bool) -> set[Place]:
    """Return every (bar, repeat) in which something went wrong."""
    wrong = {_place(note) for note in notes if note["verdict"] == Verdict.MISSED or _plainly(note)}
    for mistake in _rows(document, "mistakes"):
        wrong |= {_place(notes[index]) for index in mistake.get("notes", ()) if index < len(notes)}
    amiss = [row for row in _rows(document, "entries") if row.get("verdict") not in LITTLE]
    wrong |= {(row["bar"], row["repeat"]) for row in amiss if {"bar", "repeat"} <= row.keys()}
    for extra in _rows(document, "extras") if exact else ():
        near = min(notes, key=lambda note: _far(note, extra), default=None)
        wrong |= set() if near is None else {_place(near)}
    return wrong


def _by_run(notes: list[Row], repeats: int) -> dict[int, list[Row]]:
    """Return the notes of each run; a bar that comes several times in a run has as many repeats."""
    often: defaultdict[int, int] = defaultdict(int)
    for note in notes:
        often[note["bar"]] = max(often[note["bar"]], note["repeat"])
    runs: defaultdict[int, list[Row]] = defaultdict(list)
    for note in notes:
        each = max(-(-often[note["bar"]] // repeats), 1)
        runs[(note["repeat"] - 1) // each + 1].append(note)
    return runs


def _notes(document: Row) -> list[Row]:
    wanted = {"bar", "count", "repeat", "verdict", "plain", "expected_s"}
    return [note for note in _rows(document, "notes") if wanted <= note.keys()]


def _rows(document: Row, name: str) -> list[Row]:
    rows = document.get(name)
    return [row for row in rows if isinstance(row, dict)] if isinstance(rows, list) else []


def _place(note: Row) -> Place:
    return note["bar"], note["repeat"]


def _plainly(note: Row) -> bool:
    return bool(note["plain"]) and note["verdict"] in OFF


def _far(note: Row, extra: Row) -> tuple[bool, float]:
    """Return how far a note is from a clap too many: first in another bar, then in time."""
    return note["bar"] != extra.get("bar"), abs(note["expected_s"] - extra.get("time_s", 0.0))
