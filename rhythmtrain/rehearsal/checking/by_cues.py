"""A take judged by the cues that can have been followed, those in a recording too.

To find these the recording is heard, which is done only after a take in which an entry went amiss: no
take begins later for it.
"""

from collections.abc import Callable

from rhythmtrain.assess.findings import Verdict
from rhythmtrain.errors import FileError
from rhythmtrain.rehearsal.checking.checked import Checked
from rhythmtrain.rehearsal.cueing.known import with_strokes
from rhythmtrain.rehearsal.recorded.accompaniment import MappedRecording
from rhythmtrain.timing.timeline import Timeline

# Entries of which nothing more is asked: who came in at the right count followed the right cue.
NEAR_ENOUGH = (Verdict.IN_TIME, Verdict.EARLY, Verdict.LATE, Verdict.NOT_CHECKED)
Judge = Callable[[Timeline], Checked]


def judged_by_cues(judge: Judge, timeline: Timeline, recording: MappedRecording | None) -> Checked:
    """Return what ``judge`` makes of ``timeline``, which may be laid on ``recording``.

    Where an entry went amiss and nothing is known of the accompanist, the recording is heard around it,
    and the take is judged again.  A recording that has gone meanwhile takes no take with it.
    """
    checked = judge(timeline)
    if recording is None or timeline.cues or timeline.strokes:
        return checked
    amiss = [
        entry
        for entry, found in zip(timeline.entries, checked.findings.entries, strict=True)
        if found.verdict not in NEAR_ENOUGH
    ]
    if not amiss:
        return checked
    try:
        return judge(with_strokes(timeline, recording, amiss))
    except FileError:
        return checked
