"""Entries in free playing, judged from both sides of the rest.

Nobody's tempo predicts an entry more than four (expressive) to eight (steady) beats ahead, so the
playing before the rest and the playing after it are both asked: a step in time at the entry is a
shape like any other (see ``shapes``), and its share of a beat is by how many beats everything
from the entry on came late, with a standard error that grows with the rest.  Over the counts that
people get wrong this gives a posterior; its class is told when it passes 0.9.  Where the rest is
too long for any class to be told, that is said, and nothing else.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rhythmtrain.assess.entries import (
    PRIOR_BAR,
    PRIOR_BEATS,
    PRIOR_CUE,
    PRIOR_OTHER,
    PRIOR_RIGHT,
    SURE,
)
from rhythmtrain.assess.entry_words import class_words
from rhythmtrain.assess.figures.figures import Chance
from rhythmtrain.assess.findings import EntryFinding, Verdict
from rhythmtrain.assess.free.shapes import shapes_of, weigh
from rhythmtrain.assess.free.walk import Filter, Floats, Row, roughness
from rhythmtrain.timing.timeline import PlayedEntry, Timeline

OTHER_REACH_BEATS = 8.0
# How far from its class an honest entry lies, in beats.
CLASS_SPREAD = 0.15
# With a standard error beyond this, in beats, a beat more or less cannot be told.
MOST_ERROR = 0.6
# An entry is said to have drifted only where "as written" is this unlikely.
HARDLY_RIGHT = 0.02
TOO_LONG = "after so long a rest in free tempo a beat more or less cannot be told"
FIRST = "nothing was played before it, and nobody kept time"
UNSURE = "how the count went before this entry cannot be told more finely here"


@dataclass(frozen=True, slots=True)
class Heard:
    """The notes matched: indices, the row, its filter, seconds a quarter at each."""

    notes: Sequence[int]
    row: Row
    gains: Filter
    quarters_s: Floats


def free_entries(timeline: Timeline, heard: Heard, played: set[int]) -> tuple[EntryFinding, ...]:
    """Return a finding for every entry; ``played`` are the notes that lie within the try."""
    ranks = {note: rank for rank, note in enumerate(heard.notes)}
    beats = {
        entry.note: timeline.bars[timeline.notes[entry.note].place].bar.metre.tempo_value
        for entry in timeline.entries
    }
    steps = [
        Chance("entry", (note,), ((note, beat),), beat)
        for note, beat in beats.items()
        if ranks.get(note, 0) > 0
    ]
    found = {}
    if steps:
        weighed = weigh(shapes_of(steps, ranks, heard.quarters_s), heard.gains)
        parts = heard.gains.apply(heard.row.played_s)
        late, _ = weighed.meet(parts)
        error = np.sqrt(roughness(parts) / weighed.weight)
        for step, away, unsure in zip(steps, late.tolist(), error.tolist(), strict=True):
            found[step.notes[0]] = (away, unsure)
    return tuple(_line(timeline, entry, ranks, found, played) for entry in timeline.entries)


def _line(
    timeline: Timeline,
    entry: PlayedEntry,
    ranks: dict[int, int],
    found: dict[int, tuple[float, float]],
    played: set[int],
) -> EntryFinding:
    """Return the finding of one entry; ``found`` gives (beats late, standard error)."""
    if entry.note not in ranks and entry.note in played:
        return _finding(timeline, entry, None, Verdict.MISSED, "")
    if ranks.get(entry.note) == 0:
        return _finding(timeline, entry, None, Verdict.NOT_CHECKED, FIRST)
    if entry.note not in found or entry.note not in played:
        return _finding(timeline, entry, None, Verdict.NOT_CHECKED, "")
    away, error = found[entry.note]
    if error > MOST_ERROR:
        return _finding(timeline, entry, None, Verdict.NOT_CHECKED, TOO_LONG)
    metre = timeline.bars[timeline.notes[entry.note].place].bar.metre
    verdict, words = _told(away, error, float(metre.length / metre.tempo_value))
    return _finding(timeline, entry, away, verdict, words)


def _told(away: float, error: float, beats_a_bar: float) -> tuple[str, str]:
    """Return (verdict, sentence) of an entry ``away`` beats late, known to ``error`` beats."""
    posterior = came(away, error, beats_a_bar)
    beats = max(posterior, key=lambda each: posterior[each])
    if not beats:
        return Verdict.IN_TIME, ""
    if posterior[beats] >= SURE:
        return class_words(beats, beats_a_bar), class_words(beats, beats_a_bar)
    if posterior[0.0] > HARDLY_RIGHT:
        return Verdict.NOT_CHECKED, UNSURE
    side = "late" if away > 0 else "early"
    return "drifted", f"about {abs(away):.1f} beats {side}: the count drifted"


def came(
    away: float,
    error: float,
    beats_a_bar: float,
    elsewhere: tuple[float, ...] = (),
    *,
    honest: float = CLASS_SPREAD,
) -> dict[float, float]:
    """Return the posterior of every class (in beats) for an entry ``away`` beats late.

    ``error`` is the standard error of ``away``, in beats; ``elsewhere`` are other places after the
    same cue, in beats from the entry; ``honest`` is how far from its class an honest entry lies.
    """
    prior = {0.0: PRIOR_RIGHT}
    for table, unit in ((PRIOR_BEATS, 1.0), (PRIOR_BAR, beats_a_bar)):
        for count, share in table.items():
            for side in (-1, 1):
                key = side * count * unit
                prior[key] = max(prior.get(key, 0.0), share)
    for beats in elsewhere:
        prior[beats] = max(prior.get(beats, 0.0), PRIOR_CUE)
    spread = math.hypot(error, honest)
    mass = {
        beats: share * math.exp(-0.5 * ((away - beats) / spread) ** 2) / spread
        for beats, share in prior.items()
    }
    total = sum(mass.values()) + PRIOR_OTHER * math.sqrt(2 * math.pi) / (2 * OTHER_REACH_BEATS)
    return {beats: share / total for beats, share in mass.items()}


def _finding(
    timeline: Timeline, entry: PlayedEntry, beats: float | None, verdict: str, sentence: str
) -> EntryFinding:
    """Return the finding; ``beats`` is how late the entry came, in beats."""
    played = timeline.notes[entry.note]
    value = float(timeline.bars[played.place].bar.metre.tempo_value)
    beat_s = value / timeline.tempo.speed_at(played.at)
    return EntryFinding(
        bar=played.note.bar,
        count=played.note.count,
        repeat=played.repeat,
        rest_bars=entry.entry.rest_bars,
        rest_beats=float(entry.entry.rest_beats),
        offset_s=None if beats is None else beats * beat_s,
        offset_beats=beats,
        verdict=str(verdict),
        sentence=sentence,
    )
