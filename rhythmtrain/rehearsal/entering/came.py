"""How the player came in at the entry that is practised."""

from dataclasses import dataclass, replace
from fractions import Fraction
from math import hypot

import numpy as np

from rhythmtrain.assess.findings import Verdict
from rhythmtrain.assess.judging.elsewhere import Elsewhere, Found, elsewhere, heard_better
from rhythmtrain.assess.judging.entry_lines import DRIFTED
from rhythmtrain.assess.judging.lone_entry import LITTLE, CameIn, lone_entry
from rhythmtrain.assess.tolerance import recorded_line_s
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.checking.checked import Checked
from rhythmtrain.rehearsal.entering.one_try import Goal
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.report.take.entry_course import beats_out, drifted, not_there, went_in_words
from rhythmtrain.timing.timeline import PlayedEntry, Timeline

NOT_HEARD = (Verdict.MISSED, Verdict.NOT_CHECKED)
# From so much of a beat after the last note before the rest on, what is heard was meant for the entry.
AFTER_LAST_BEATS = 0.35
ANOTHER_BEATS = 0.5


@dataclass(frozen=True, slots=True)
class Entered:
    """How the player came in at the goal, and by how much late, in seconds and in beats.

    ``wrong_cue`` is the bar after whose cue it was, where that is known; ``instead`` says what was
    heard where the entry was not.
    """

    came: CameIn
    offset_s: float | None = None
    offset_beats: float | None = None
    wrong_cue: int | None = None
    instead: str = ""

    @property
    def words(self) -> str:
        """Return how the player came in, as one says it."""
        return self.instead or went_in_words(self.came.verdict, self.wrong_cue)


NEVER_CAME = Entered(CameIn("missed", good=False))


def came_in(goal: Goal, checked: Checked, performance: Performance) -> Entered:
    """Return how the player came in at the goal.

    Beside a recording it counts how well the map knows the beat, and what those who follow one do.
    """
    wanted = (goal.entry.bar, goal.entry.count)
    found = [each for each in checked.findings.entries if (each.bar, each.count) == wanted]
    if not found:
        return NEVER_CAME
    timeline = checked.timeline
    entry = next(each for each in timeline.entries if (each.entry.bar, each.entry.count) == wanted)
    at = timeline.notes[entry.note].at
    unsure_s = hypot(checked.heard.playing.uncertainty_s, timeline.uncertainty_s(at))
    came = lone_entry(
        found[0],
        uncertainty_s=unsure_s,
        delay_error_s=performance.delay.error_s,
        least_s=_least_s(timeline, at) if Layer.ACCOMPANIMENT in goal.layers else 0.0,
    )
    entered = Entered(came, found[0].offset_s, found[0].offset_beats, found[0].wrong_cue)
    return entered if found[0].verdict in LITTLE else _looked_for(entered, checked, entry)


def _looked_for(entered: Entered, checked: Checked, entry: PlayedEntry) -> Entered:
    """Return what is told of an entry that was not made in its place: where it was made, if at all."""
    timeline, claps_s = checked.timeline, np.array(checked.take.times_s)
    beat_s, a_bar = _beat_s(timeline, entry)
    notes = [(n, float(timeline.track_seconds(each.at))) for n, each in enumerate(timeline.notes)]
    aims_s = np.array([time for number, time in notes if number >= entry.note])
    before_s = max((time for number, time in notes if number < entry.note), default=-np.inf)
    claps_s = claps_s[claps_s > before_s + AFTER_LAST_BEATS * beat_s]
    end_s = min(float(timeline.track_seconds(timeline.stop)), checked.take.duration_s)
    there = elsewhere(aims_s, claps_s, beat_s, end_s=end_s)
    if there is None:
        return entered
    if there.found is Found.PHRASE:
        here = entered.offset_beats
        if here is not None and (
            abs(there.beats - here) < ANOTHER_BEATS
            or not heard_better(aims_s, claps_s, beat_s, there=there.beats, here=here)
        ):
            return entered
        came = CameIn(beats_out(there.beats, a_bar), good=False)
        return Entered(came, there.beats * beat_s, there.beats)
    if entered.came.verdict == DRIFTED and entered.offset_beats is not None:
        return replace(entered, instead=drifted(beats_out(entered.offset_beats, a_bar)))
    if entered.came.verdict not in NOT_HEARD:
        return entered
    return replace(entered, instead=_words(there, checked, a_bar))


def _words(there: Elsewhere, checked: Checked, a_bar: float) -> str:
    out = beats_out(there.beats, a_bar)
    return not_there(out, checked.heard.playing, beats=there.found is Found.BEATS)


def _beat_s(timeline: Timeline, entry: PlayedEntry) -> tuple[float, float]:
    """Return how long the beat of an entry lasts, and how many there are in its bar."""
    note = timeline.notes[entry.note]
    metre = timeline.bars[note.place].bar.metre
    beat = metre.length / len(metre.beats)
    return float(timeline.seconds(note.at + beat) - timeline.seconds(note.at)), len(metre.beats)


def _least_s(timeline: Timeline, at: Fraction) -> float:
    """Return how far from the accompanist's beat nobody is called early or late."""
    metre = timeline.passage.metre
    beat_s = timeline.seconds(at + metre.tempo_value) - timeline.seconds(at)
    bar = next(each for each in timeline.bars if each.start <= at < each.stop)
    within = at - bar.start + bar.bar.begins
    on_beat = any(beat.start == within for beat in bar.bar.metre.beats)
    return float(recorded_line_s(np.array([beat_s]), np.array([on_beat]))[0])
