"""What a microphone heard while the track played: a take in track time.

The track tells its own delay.  Where it comes round too evenly for that, the delay kept for the
machine is looked for; without one, the likeliest delay is enough to take the loudspeaker out, but
not to say where all claps lie beside the click.  What is plainly the loudspeaker and cannot be
taken out is not judged: nobody is told of claps that the track played.
"""

from bisect import bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.devices.ports import Block
from rhythmtrain.hearing.bleed import cleared, removal_db
from rhythmtrain.hearing.delay import EVEN, SoundDelay, delay_near, measured_delay
from rhythmtrain.hearing.echoes import only_the_track
from rhythmtrain.hearing.onsets import Onset, find_onsets
from rhythmtrain.hearing.past_bleed import Past, hidden_s, onsets_past
from rhythmtrain.rehearsal.sound_delay import CLAIM_ERROR_S, Delay

POOR_DB, LEAST_DB = 10.0, 3.0
# Of a track that comes round evenly the fit claims up to 14 dB and leaves clicks all the same
# (clicks alone on the tracks of tests/simulate/rooms.py).
SURE_DB = 16.0
# A response is fitted to the take it is taken out of, which flatters short takes: by 3 dB in 12 s,
# 2 dB in 24 s (measured on the half "tune" of tests/simulate/rooms.py).
FLATTERED_DB_S = 40.0
# A kept delay moves from one opening of the devices to the next.
REOPENED_S, KEPT_ERRORS = 0.005, 3.0
TAKEN_OUT = "The microphone heard the loudspeaker too: it was taken out, to {softer} dB softer."
POOR = (
    "The microphone heard the loudspeaker too, and it could be made only {softer} dB softer: a clap "
    "on a click may be missed, or a click be taken for one. Turn it down or use headphones."
)
HIDDEN = (
    "Where the loudspeaker was loudest a clap may have gone unheard: a note there without a clap is "
    "not checked."
)
ROUND = (
    "The track comes round too evenly to tell the sound delay from it, so where all claps lie "
    "beside the click is not told: measure it once with rhythmtrain latency."
)
CLICKS_ALONE = (
    "The microphone heard the loudspeaker too, and it could not be taken out: clicks alone come "
    "round too evenly. Keep the spoken count in the track, or use headphones."
)
LOUDSPEAKER_ALONE = (
    "The microphone heard the loudspeaker and nobody playing: what it heard keeps the track's times "
    "as no hand can. Clap nearer to the microphone, or use headphones."
)
SILENT, COMPARED_S = 1e-4, 60.0
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
    """A take in track time, the sound delay found in it, and sentences on how it was heard.

    ``unjudged`` says why nothing in it is held against the passage; empty where that is done.
    """

    take: Take
    delay: Delay
    remarks: tuple[str, ...] = ()
    unjudged: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class _Cleared:
    """A whole recording without its loudspeaker, and the clocks of its stretches."""

    past: Past
    firsts_s: tuple[float, ...]
    clocks: tuple[SoundDelay, ...]

    @property
    def claimed_db(self) -> float:
        """Return by how many dB the loudspeaker is softer, as far as the fit itself can tell."""
        return removal_db(self.past.bleed, self.past.leftover)

    @property
    def softer_db(self) -> float:
        """Return by how many dB it is softer, without what a short take flatters."""
        return self.claimed_db - FLATTERED_DB_S * self.past.rate / len(self.past.left)

    def heard(self, onset: Onset) -> Heard:
        """Return ``onset`` in track time."""
        return Heard(self.track_s(onset.time_s), onset.strength, onset.uncertainty_s)

    def track_s(self, time_s: float) -> float:
        """Return which second of the track is heard at ``time_s`` of the recording."""
        return self.clocks[max(bisect_right(self.firsts_s, time_s) - 1, 0)].track_s(time_s)


USUAL_EAR = Ear()


def heard_beside(
    recorded: Block, track: Block, rate: int, *, ear: Ear = USUAL_EAR, kept: Delay | None = None
) -> HeardBeside:
    """Return what was played in ``recorded``, shape (n,), while ``track``, shape (m,), sounded.

    Both begin at frame 0 of the track.  Where the loudspeaker was heard, the delay is measured
    afresh, and the loudspeaker is taken out before claps are listened for.
    """
    recorded = recorded[: len(track) + rate]
    measured = _measured(recorded, track, rate, kept)
    if measured.refused and measured.refused != EVEN:
        return _unaligned(recorded, track, rate, ear=ear, kept=kept)
    clear = _cleared(recorded, track, rate, measured)
    if measured.refused and clear.claimed_db < LEAST_DB:
        return _unaligned(recorded, track, rate, ear=ear, kept=kept)
    beside = _past_loudspeaker(recorded, track, clear, ear)
    if measured.refused:
        return _guessed(beside, clear)
    if not _lost(recorded, track, rate):
        return beside
    return replace(beside, remarks=(*beside.remarks, LOST))


def _measured(recorded: Block, track: Block, rate: int, kept: Delay | None) -> SoundDelay:
    """Return the delay that the track tells, or that it has near the kept one."""
    measured = measured_delay(recorded, track, rate)
    if not measured.refused or kept is None or not kept.known:
        return measured
    within_s = REOPENED_S + KEPT_ERRORS * kept.error_s
    near = delay_near(recorded, track, rate, expected_s=kept.delay_s, within_s=within_s)
    return measured if near.refused else near


def _unaligned(
    recorded: Block, track: Block, rate: int, *, ear: Ear, kept: Delay | None
) -> HeardBeside:
    """Return what was heard where the track was not, or too little of it to be taken out."""
    delay = kept or Delay(0.0, CLAIM_ERROR_S, known=False)
    onsets = find_onsets(recorded, rate, kind=ear.kind, aloud=ear.aloud)
    heard = tuple(Heard(o.time_s - delay.delay_s, o.strength, o.uncertainty_s) for o in onsets)
    take = Take("audio", "microphone", heard, len(recorded) / rate)
    if _is_track(onsets, track, rate):
        return HeardBeside(replace(take, heard=()), delay, unjudged=LOUDSPEAKER_ALONE)
    return HeardBeside(take, delay)


def _is_track(onsets: Sequence[Onset], track: Block, rate: int) -> bool:
    """Return whether ``onsets`` are those of the track, and no more."""
    if not onsets or np.abs(track).max() < SILENT:
        return False
    written = find_onsets(track[: round(COMPARED_S * rate)], rate)
    return only_the_track([each.time_s for each in onsets], [each.time_s for each in written])


def _guessed(beside: HeardBeside, clear: _Cleared) -> HeardBeside:
    """Return ``beside``, whose delay may be another by a beat or more, as far as it is sure."""
    delay = Delay(beside.delay.delay_s, CLAIM_ERROR_S, known=False)
    if clear.softer_db < SURE_DB:
        take = replace(beside.take, heard=())
        return HeardBeside(take, delay, unjudged=CLICKS_ALONE)
    return replace(beside, delay=delay, remarks=(*beside.remarks, ROUND))


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


def _cleared(recorded: Block, track: Block, rate: int, measured: SoundDelay) -> _Cleared:
    pieces = list(cleared(recorded, track, rate, measured))
    left, bleed, leftover = (
        np.concatenate([getattr(each, name) for each in pieces])
        for name in ("left", "bleed", "leftover")
    )
    firsts_s = tuple(each.first / rate for each in pieces)
    past = Past(left, bleed, leftover, rate)
    return _Cleared(past, firsts_s, tuple(each.delay for each in pieces))


def _past_loudspeaker(recorded: Block, track: Block, clear: _Cleared, ear: Ear) -> HeardBeside:
    """Return what was heard once the loudspeaker is out, or as it was where that gains too little."""
    rate, found = clear.past.rate, clear.clocks[0]
    delay = Delay(found.delay_s, found.error_s, known=True)
    unjudged = ""
    if clear.claimed_db < LEAST_DB:
        onsets = find_onsets(recorded, rate, kind=ear.kind, aloud=ear.aloud)
    else:
        onsets = onsets_past(clear.past, kind=ear.kind, aloud=ear.aloud)
    if _is_track(onsets, track, rate):
        onsets, unjudged = (), LOUDSPEAKER_ALONE
    heard = tuple(sorted(map(clear.heard, onsets), key=lambda each: each.time_s))
    hidden = tuple(map(clear.track_s, hidden_s(onsets, clear.past)))
    remark = POOR if clear.softer_db < POOR_DB else TAKEN_OUT
    remarks = [remark.format(softer=max(round(clear.softer_db), 0))]
    if hidden:
        remarks.append(HIDDEN)
    take = Take("audio", "microphone", heard, len(recorded) / rate, hidden)
    return HeardBeside(take, delay, () if unjudged else tuple(remarks), unjudged)
