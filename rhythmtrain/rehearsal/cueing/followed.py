"""Which cues a player can follow in a track: those that sound.

Beside a recording that is the passage's cue line, or the accompanist's notes; its strokes are heard only
when they are needed (``checking.by_cues``).  Where nobody accompanies, no cue is to blame.
"""

from rhythmtrain.notate.notes.written_part import WrittenPart
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.rehearsal.cueing.known import with_nothing, with_part
from rhythmtrain.timing.timeline import Timeline


def with_what_sounds(timeline: Timeline, plan: Plan, part: WrittenPart | None = None) -> Timeline:
    """Return ``timeline`` with the cues that can be followed in a track of ``plan``.

    ``part`` are the accompanist's notes, where they are known: they sound in the recording.
    """
    if any(piece.layer is Layer.ACCOMPANIMENT for piece in plan.laid):
        return timeline if part is None or timeline.cues else with_part(timeline, part)
    if timeline.cues and not any(prompt.layer is Layer.CUE for prompt in plan.prompts):
        return with_nothing(timeline)
    return timeline
