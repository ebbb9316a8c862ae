"""What a microphone heard while the track played: a take in track time."""

from bisect import bisect_right
from dataclasses import dataclass, replace

import numpy as np

from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.devices.ports import Block
from rhythmtrain.hearing.bleed import Cleared, cleared, removal_db
from rhythmtrain.hearing.delay import EVEN, measured_delay
from rhythmtrain.hearing.onsets import find_onsets
from rhythmtrain.hearing.past_bleed import Past, onsets_past
from rhythmtrain.rehearsal.sound_delay import Delay

POOR_DB, LEAST_DB = 10.0, 3.0
TAKEN_OUT = "The microphone heard the loudspeaker too: it was taken out, to {softer} dB softer."
POOR = (
    "The microphone heard the loudspeaker too, and it could be made only {softer} dB softer: a clap "
    "on a click may be missed, or a click be taken for one. Turn it down or use headphones."
)
CLICKS_ALONE = (
    "The microphone heard the loudspeaker too, and it could not be taken out: clicks alone come "
    "round too evenly. Keep the spoken count in the track, or use headphones."
)
LOST_S = 0.001
LOST = (
    "Sound was lost on the way while you played: claps before and after it do not lie on one clock. "
    "Play it again."
)


@dataclass(frozen=True, slots=True)
class Ear:
    """What is listened for, and whether the player counts aloud meanwhile."""

    kind: str = "claps"
    aloud: bool = True


@dataclass(frozen=True, slots=True)
class HeardBeside:
    """A take in track time, the sound delay found in it, and sentences on how it was heard."""

    take: Take
    delay: Delay
    remarks: tuple[str, ...] = ()


USUAL_EAR = Ear()


def heard_beside(
    recorded: Block, track: Block, rate: int, *, ear: Ear = USUAL_EAR, kept: Delay | None = None
) -> HeardBeside:
    """Return what was played in ``recorded``, shape (n,), while ``track``, shape (m,), sounded.

    Both begin at frame 0 of the track.  Where the loudspeaker was heard, the delay is measured
    afresh, and the loudspeaker is taken out before claps are listened for.
    """
    recorded = recorded[: len(track) + rate]
    measured = measured_delay(recorded, track, rate)
    if measured.refused:
        delay = kept or Delay(0.0, 0.15, known=False)
        onsets = find_onsets(recorded, rate, kind=ear.kind, aloud=ear.aloud)
        heard = tuple(Heard(o.time_s - delay.delay_s, o.strength, o.uncertainty_s) for o in onsets)
        remarks = (CLICKS_ALONE,) if measured.refused == EVEN else ()
        return HeardBeside(Take("audio", "microphone", heard, len(recorded) / rate), delay, remarks)
    beside = _past_loudspeaker(recorded, rate, list(cleared(recorded, track, rate, measured)), ear)
    if not _lost(recorded, track, rate):
        return beside
    return replace(beside, remarks=(*beside.remarks, LOST))


def _lost(recorded: Block, track: Block, rate: int) -> bool:
    """Return whether the delay of the second half is another than that of the first."""
    half = min(len(recorded), len(track)) // 2
    before = measured_delay(recorded[:half], track[:half], rate)
    after = measured_delay(recorded[half:], track[half:], rate)
    if before.refused or after.refused:
        return False
    middle_s = half / rate / 2
    ends_s = before.delay_s + 1e-6 * before.skew_ppm * middle_s
    begins_s = after.delay_s + 1e-6 * after.skew_ppm * middle_s
    grown_s = 1e-6 * (before.skew_ppm + after.skew_ppm) * middle_s
    return abs(begins_s - ends_s - grown_s) > LOST_S


def _past_loudspeaker(recorded: Block, rate: int, pieces: list[Cleared], ear: Ear) -> HeardBeside:
    """Return what was heard once the loudspeaker is out, or as it was where that gains too little."""
    bleed, leftover = (
        np.concatenate([getattr(each, name) for each in pieces]) for name in ("bleed", "leftover")
    )
    softer_db = removal_db(bleed, leftover)
    if softer_db < LEAST_DB:
        onsets = find_onsets(recorded, rate, kind=ear.kind, aloud=ear.aloud)
    else:
        left = np.concatenate([each.left for each in pieces])
        onsets = onsets_past(Past(left, bleed, leftover, rate), kind=ear.kind, aloud=ear.aloud)
    firsts_s = [each.first / rate for each in pieces]
    heard = []
    for onset in onsets:
        clock = pieces[max(bisect_right(firsts_s, onset.time_s) - 1, 0)].delay
        heard.append(Heard(clock.track_s(onset.time_s), onset.strength, onset.uncertainty_s))
    heard.sort(key=lambda each: each.time_s)
    found = pieces[0].delay
    remark = (POOR if softer_db < POOR_DB else TAKEN_OUT).format(softer=round(softer_db))
    return HeardBeside(
        Take("audio", "microphone", tuple(heard), len(recorded) / rate),
        Delay(found.delay_s, found.error_s, known=True),
        (remark,),
    )
