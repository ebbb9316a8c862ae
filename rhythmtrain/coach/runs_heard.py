"""Which times through a passage went right, and in which bars the others failed.

A run is right when it is whole and nothing in it stood plainly apart: no note missing, none beyond
what 99 of 100 honest players do, no figure read as another, no entry a beat away.  What lies a
little outside is no fault; what could not be checked is none either.  A clap too many is a fault
only where taps are exact (keys, pads): before a microphone it may have been a voice or a chair.
"""

from collections import defaultdict
from dataclasses import dataclass

from rhythmtrain.assess.findings import Findings, NoteFinding, Verdict
from rhythmtrain.timing.timeline import Timeline, lay_out

MOST_UNCHECKED = 0.5
LITTLE = {"in time", "early", "late", "not checked"}


@dataclass(frozen=True, slots=True)
class RunHeard:
    """One time through: whether it went right, and the bars that did not, in playing order."""

    right: bool
    failed: tuple[int, ...] = ()


def runs_heard(
    timeline: Timeline, findings: Findings, *, exact: bool = False
) -> tuple[RunHeard, ...]:
    """Return each run that was played to its end, as far as it could be checked.

    ``timeline`` may have been cut where the player stopped; ``exact`` where taps were keys or pads.
    """
    whole = _notes_by_run(lay_out(timeline.passage, timeline.practice))
    found: defaultdict[int, list[NoteFinding]] = defaultdict(list)
    for note in findings.notes:
        found[timeline.notes[note.note].run].append(note)
    wrong = _wrong_bars(timeline, findings, exact=exact)
    heard = []
    for run, notes in sorted(found.items()):
        unchecked = sum(note.verdict is Verdict.NOT_CHECKED for note in notes)
        if len(notes) < whole[run] or unchecked > MOST_UNCHECKED * len(notes):
            continue
        if findings.shift_beats:
            heard.append(RunHeard(right=False))
            continue
        failed = wrong.get(run, set())
        order = dict.fromkeys(bar.bar.number for bar in timeline.bars if bar.run == run)
        heard.append(RunHeard(not failed, tuple(bar for bar in order if bar in failed)))
    return tuple(heard)


def failed_bars(runs: tuple[RunHeard, ...]) -> tuple[int, ...]:
    """Return the bars that failed in any of ``runs``, the one that failed most often first."""
    often: defaultdict[int, int] = defaultdict(int)
    for run in runs:
        for bar in run.failed:
            often[bar] += 1
    return tuple(sorted(often, key=lambda bar: -often[bar]))


def _wrong_bars(timeline: Timeline, findings: Findings, *, exact: bool) -> dict[int, set[int]]:
    """Return the bars with a fault, by run."""
    wrong: defaultdict[int, set[int]] = defaultdict(set)
    figures = {index for mistake in findings.mistakes for index in mistake.notes}
    amiss = {(entry.bar, entry.repeat) for entry in findings.entries if entry.verdict not in LITTLE}
    for index, note in enumerate(findings.notes):
        missed = note.verdict is Verdict.MISSED
        plain = note.plain and note.verdict in (Verdict.EARLY, Verdict.LATE)
        if missed or plain or index in figures or (note.bar, note.repeat) in amiss:
            wrong[timeline.notes[note.note].run].add(note.bar)
    if exact:
        for time_s in (extra.time_s for extra in findings.extras):
            where = _where(timeline, time_s - findings.start_s)
            if where is not None:
                wrong[where[0]].add(where[1])
    return wrong


def _where(timeline: Timeline, time_s: float) -> tuple[int, int] | None:
    """Return the run and bar that sound ``time_s`` seconds after bar 1, None outside the runs."""
    quarters = timeline.tempo.quarters(time_s)
    for played in timeline.bars:
        if played.index is not None and float(played.start) <= quarters < float(played.stop):
            return played.run, played.bar.number
    return None


def _notes_by_run(timeline: Timeline) -> dict[int, int]:
    """Return how many notes each run has to be played."""
    notes: defaultdict[int, int] = defaultdict(int)
    for note in timeline.notes:
        if note.expected:
            notes[note.run] += 1
    return notes
