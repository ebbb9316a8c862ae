"""Why nothing of what a microphone heard is held against the passage: nobody played.

The loudspeaker alone keeps the track's times as no hand can; talk alone holds no stroke.  Who
counted aloud and was never heard clapping is told that, not where the words fell.
"""

from collections.abc import Sequence

import numpy as np

from rhythmtrain.devices.ports import Block
from rhythmtrain.hearing.bleed.echoes import only_the_track
from rhythmtrain.hearing.onsets.clapped import plainly_heard
from rhythmtrain.hearing.onsets.onset import Onset
from rhythmtrain.hearing.onsets.onsets import find_onsets
from rhythmtrain.hearing.onsets.own_strokes import Candidate
from rhythmtrain.rehearsal.live.beside_words import LOUDSPEAKER_ALONE, TALK

SILENT, COMPARED_S = 1e-4, 60.0


def why_nobody(onsets: Sequence[Onset], among: Sequence[Candidate], track: Block, rate: int) -> str:
    """Return why ``onsets`` are nobody's; empty where somebody played, or nothing was heard at all.

    ``among`` is what they were sorted from.
    """
    heard = onsets or [onset for onset, _ in among]
    if _is_track([each.time_s for each in heard], track, rate):
        return LOUDSPEAKER_ALONE
    if onsets or not plainly_heard([stroke for _, stroke in among]):
        return ""
    return TALK


def _is_track(heard_s: Sequence[float], track: Block, rate: int) -> bool:
    """Return whether sounds at ``heard_s`` are those of the track, and no more."""
    if not heard_s or np.abs(track).max() < SILENT:
        return False
    written = find_onsets(track[: round(COMPARED_S * rate)], rate)
    return only_the_track(heard_s, [each.time_s for each in written])
