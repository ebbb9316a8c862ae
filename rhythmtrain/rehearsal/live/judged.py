"""A take played here and now, held against its passage as far as it was played."""

from dataclasses import replace
from fractions import Fraction

from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Take
from rhythmtrain.devices.ports import How
from rhythmtrain.errors import TakeError
from rhythmtrain.rehearsal.checking.by_cues import judged_by_cues
from rhythmtrain.rehearsal.checking.checked import Asked, Checked, judged
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.performance import Performance, gone
from rhythmtrain.rehearsal.recorded.accompaniment import MappedRecording
from rhythmtrain.remedies import remedy
from rhythmtrain.timing.timeline import Timeline, lay_out

AFTER_LAST_S = 0.2
NOTHING = {
    "keys": "press the space bar, or any key, on every note",
    "midi": f"is the pad or keyboard connected, and chosen {remedy('from', 'midi:PORT')}?",
    "audio": f"is the microphone on, near, and chosen {remedy('from', 'mic:DEVICE')}?",
}


def judged_live(
    performance: Performance,
    timeline: Timeline,
    asked: Asked,
    *,
    timing: str = "click",
    recording: MappedRecording | None = None,
) -> Checked:
    """Return what was played held against ``timeline``, which the track was laid along.

    ``timing`` says what kept time in it, as in ``Settings``; ``recording`` is what it was laid on, of
    which after an entry that went amiss is heard which cues can have been followed.

    Raises:
        TakeError: nothing was played, or it ended before there was anything to play.
    """
    take = performance.take
    if not begun(performance, timeline):
        away = gone(performance.gathered, "the passage began")
        raise TakeError(away or "you stopped before the passage began: nothing was checked")
    if not take.heard:
        away = gone(performance.gathered, "anything was played")
        nothing = f"nothing was played: {NOTHING[take.source]}"
        raise TakeError(performance.unjudged or away or nothing)
    reached = as_far_as(timeline, performance.gathered, take)
    start_s = float(reached.track_seconds(Fraction(0)))
    settings = Settings(timing, start_s, reached.practice.speed, one_go=asked.one_go)
    stopped = performance.gathered.ended.how is not How.FINISHED
    asked = replace(asked, delay_known=performance.delay.known, stopped=stopped)
    return judged_by_cues(lambda known: judged(known, take, settings, asked), reached, recording)


def begun(performance: Performance, timeline: Timeline) -> bool:
    """Return whether the take went on to its first note."""
    if performance.gathered.ended.how is How.FINISHED:
        return True
    first = next((note for note in timeline.notes if note.expected), None)
    last_s = max((heard.time_s for heard in performance.take.heard), default=0.0)
    reached_s = max(performance.gathered.played_s, last_s) + AFTER_LAST_S
    return first is None or timeline.track_seconds(first.at) <= reached_s


def as_far_as(timeline: Timeline, gathered: Gathered, take: Take) -> Timeline:
    """Return ``timeline`` as far as it was played: of a take that was stopped, to its last clap.

    Whoever reaches for the stop key has stopped playing before; what came after the last clap was
    not missed.  Where nothing was reached the first note stays.
    """
    if gathered.ended.how is How.FINISHED:
        return timeline
    last_s = max(heard.time_s for heard in take.heard) + AFTER_LAST_S
    notes = tuple(note for note in timeline.notes if timeline.track_seconds(note.at) <= last_s)
    notes = notes or timeline.notes[:1]
    runs = max(note.run for note in notes)
    shorter = lay_out(timeline.passage, replace(timeline.practice, repeats=max(runs, 1)))
    entries = tuple(each for each in shorter.entries if each.note < len(notes))
    return replace(
        shorter,
        notes=notes,
        entries=entries,
        tempo=timeline.tempo,
        doubts=timeline.doubts,
        strokes=timeline.strokes,
    )
