"""Where the cue of an entry comes earlier too, so that the player counts on to the right one.

It is asked of what is written, the cue line or the accompanist's notes.  A recording alone tells it only
in part of the cases, and a warning that is seldom given is taken for a promise.
"""

from pathlib import Path

from rhythmtrain.assess.wrong_cue import same_cues
from rhythmtrain.rehearsal.cueing.known import with_notes
from rhythmtrain.rehearsal.passages.from_scores import unsaid
from rhythmtrain.score.entries import Entry
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import lay_out


def leads_earlier_to(
    passage: Passage, entry: Entry, *, name: str, notes: Path | None
) -> tuple[int, ...]:
    """Return the bars before ``entry`` to which its cue leads too.

    By the accompanist's ``notes``, or the cue line, or else the notes beside the drill called ``name``.
    """
    timeline = with_notes(lay_out(passage), name, notes, unsaid)
    here = (entry.bar, entry.count)
    own = [each.note for each in timeline.entries if (each.entry.bar, each.entry.count) == here]
    cues = same_cues(timeline)
    bars = {cue.bar for note in own for cue in cues.get(note, ()) if cue.beats < 0}
    return tuple(sorted(bars))
