"""Findings made by hand: a passage as a steady player plays it, with a few things amiss."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from rhythmtrain.assess.findings import (
    BarFinding,
    EntryFinding,
    Extra,
    Findings,
    Mistake,
    NoteFinding,
    Spread,
    Tally,
    Try,
    Verdict,
)
from rhythmtrain.report.take.flags import flags
from rhythmtrain.report.take.playing import NOTES, Playing
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from rhythmtrain.units import Bpm

Spot = tuple[int, str, int]
LINES = (0.053, 0.074)
START_S = 2.0
SENTENCES = {"drifted": "about 1.4 beats late: the count drifted"}


@dataclass(frozen=True)
class Amiss:
    """What is amiss: seconds late by (bar, count, repeat), missing and unchecked notes, the rest."""

    late_s: Mapping[Spot, float] = field(default_factory=dict)
    missed: frozenset[Spot] = frozenset()
    unchecked: frozenset[Spot] = frozenset()
    extras: tuple[Extra, ...] = ()
    mistakes: tuple[Mistake, ...] = ()
    came: Mapping[Spot, str] = field(default_factory=dict)
    more: Mapping[str, Any] = field(default_factory=dict)


def passage_of(
    rhythm: str,
    metre: str = "2/4",
    *,
    tempo: float = 60,
    title: str = "Lantern Rag",
    cue: str | None = None,
) -> Passage:
    """Return the passage written as a count line, with the accompanist's rhythm where given."""
    beside = read_bars(cue, Metre.parse(metre)) if cue else ()
    return Passage(title, Bpm(tempo), read_bars(rhythm, Metre.parse(metre)), beside)


def heard_of(
    passage: Passage, amiss: Amiss | None = None, *, repeats: int = 1, playing: Playing = NOTES
) -> tuple[Heard, Timeline]:
    """Return what was heard of a steady player of ``passage``, and the timeline played to."""
    timeline = lay_out(passage, Practice(repeats=repeats))
    found = findings_of(timeline, amiss or Amiss())
    return Heard(found, passage, flags(found), playing), timeline


def findings_of(timeline: Timeline, amiss: Amiss) -> Findings:
    """Return findings in which everything is in time but for what is ``amiss``."""
    notes = tuple(_note(timeline, index, amiss) for index in range(len(timeline.notes)))
    verdicts = [note.verdict for note in notes]
    gone = verdicts.count(Verdict.MISSED)
    unchecked = verdicts.count(Verdict.NOT_CHECKED)
    first, last = timeline.notes[0].note.bar, timeline.notes[-1].note.bar
    findings = Findings(
        timing="click", speed=1.0, tempo_found=False, looks_like=True, start="found",
        start_s=START_S, tries=(Try(first, last, START_S, complete=True),), shown=0,
        shift_beats=None,
        tally=Tally(
            len(notes), len(notes) - gone - unchecked, gone, len(amiss.extras), unchecked
        ),
        spread=Spread(0.0, 0.0, 0.01, -0.03, 0.03), drift_percent=0.2, uncertainty_s=0.03,
        notes=notes, extras=amiss.extras, mistakes=amiss.mistakes,
        entries=_entries(timeline, amiss, notes), bars=_bars(notes),
    )  # fmt: skip
    return replace(findings, **amiss.more)


def _note(timeline: Timeline, index: int, amiss: Amiss) -> NoteFinding:
    played = timeline.notes[index]
    spot = (played.note.bar, played.note.count, played.repeat)
    at = START_S + timeline.seconds(played.at)
    late: float | None = amiss.late_s.get(spot, 0.0)
    verdict, plain = _verdict(late or 0.0)
    if spot in amiss.missed or spot in amiss.unchecked:
        late = None
        verdict = Verdict.MISSED if spot in amiss.missed else Verdict.NOT_CHECKED
        plain = spot in amiss.missed
    heard = None if late is None else at + late
    return NoteFinding(index, *spot, at, heard, late, verdict, plain, LINES[0], late)


def _verdict(late_s: float) -> tuple[Verdict, bool]:
    side = Verdict.LATE if late_s > 0 else Verdict.EARLY
    verdict = side if abs(late_s) > LINES[0] else Verdict.IN_TIME
    return verdict, abs(late_s) > LINES[1]


def _entries(
    timeline: Timeline, amiss: Amiss, notes: Sequence[NoteFinding]
) -> tuple[EntryFinding, ...]:
    found = []
    for entry in timeline.entries:
        note = notes[entry.note]
        spot = (note.bar, note.count, note.repeat)
        verdict = amiss.came.get(spot, note.verdict.value)
        late = note.offset_s
        if spot in amiss.came:
            late = -1.0 if "early" in verdict else 1.0
        found.append(
            EntryFinding(
                *spot, entry.entry.rest_bars, float(entry.entry.rest_beats), late, late, verdict,
                SENTENCES.get(verdict, verdict),
            )
        )  # fmt: skip
    return tuple(found)


def _bars(notes: Sequence[NoteFinding]) -> tuple[BarFinding, ...]:
    numbers = sorted({note.bar for note in notes})
    return tuple(
        BarFinding(
            number,
            sum(note.bar == number and note.offset_s is not None for note in notes),
            sum(note.bar == number and note.verdict is Verdict.MISSED for note in notes),
            0, 0.0, None,
        )
        for number in numbers
    )  # fmt: skip
