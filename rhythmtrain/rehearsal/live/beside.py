"""What a microphone heard while the track played: a take in track time.

The track tells its own delay.  Where it comes round too evenly for that, the delay kept for the
machine is looked for; without one, the likeliest delay is enough to take the loudspeaker out, but
not to say where all claps lie beside the click.  What is plainly the loudspeaker and cannot be
taken out is not judged: nobody is told of claps that the track played.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.devices.ports import Block
from rhythmtrain.hearing.bleed.delay import BRIEF, EVEN, SoundDelay, delay_near, measured_delay
from rhythmtrain.hearing.gaps.finding import Hint, found_gaps
from rhythmtrain.hearing.gaps.gaps import Mended, mended
from rhythmtrain.hearing.onsets.onset import Onset
from rhythmtrain.hearing.onsets.onsets import OnsetFinder
from rhythmtrain.hearing.onsets.own_strokes import Candidate
from rhythmtrain.rehearsal.live.beside_words import (
    BRIEFLY,
    CLICKS_ALONE,
    HIDDEN,
    LOST,
    MOSTLY_LOST,
    POOR,
    ROUND,
    TAKEN_OUT,
)
from rhythmtrain.rehearsal.live.cleared import ClearedTake, cleared_take, lost_sound
from rhythmtrain.rehearsal.live.lost_sound import LostSound
from rhythmtrain.rehearsal.live.nobody import why_nobody
from rhythmtrain.rehearsal.live.sound_delay import CLAIM_ERROR_S, Delay

POOR_DB, LEAST_DB = 10.0, 3.0
# Of a track that comes round evenly the fit claims up to 14 dB and leaves clicks all the same
# (clicks alone on the tracks of tests/simulate/rooms.py).
SURE_DB = 16.0
# So short a take can be explained as the room's answer, claps and all.
BRIEF_S = 4.0
# A kept delay moves from one opening of the devices to the next.
REOPENED_S, KEPT_ERRORS = 0.005, 3.0
LOST_S = 0.001


@dataclass(frozen=True, slots=True)
class Ear:
    """What is listened for, and whether the player counts aloud meanwhile."""

    kind: str = "claps"
    aloud: bool = True


@dataclass(frozen=True, slots=True)
class HeardBeside:
    """A take in track time, the sound delay found in it, and sentences on how it was heard.

    ``unjudged`` says why nothing in it is held against the passage; empty where that is done.
    ``lost`` is where sound was lost, so that nothing is known there.
    """

    take: Take
    delay: Delay
    remarks: tuple[str, ...] = ()
    unjudged: str = ""
    lost: tuple[LostSound, ...] = ()


USUAL_EAR = Ear()


def heard_beside(
    recorded: Block,
    track: Block,
    rate: int,
    *,
    ear: Ear = USUAL_EAR,
    kept: Delay | None = None,
    hints: Sequence[Hint] = (),
) -> HeardBeside:
    """Return what was played in ``recorded``, shape (n,), while ``track``, shape (m,), sounded.

    Both begin at frame 0 of the track.  Where the loudspeaker was heard, the delay is measured
    afresh, and the loudspeaker is taken out before claps are listened for.  Where sound was lost,
    as ``hints`` say or the track tells, the recording is laid on one clock again.
    """
    gaps = found_gaps(recorded, track, rate, hints)
    laid = mended(recorded[: len(track) + rate], gaps, rate)
    if _mostly_lost(laid):
        delay = kept or Delay(0.0, CLAIM_ERROR_S, known=False)
        return HeardBeside(_take(laid), delay, unjudged=MOSTLY_LOST)
    recorded = laid.sound
    measured = _measured(recorded, track, rate, kept)
    if measured.refused and measured.refused != EVEN:
        briefly = measured.refused == BRIEF
        return _unaligned(laid, track, ear=ear, kept=kept, briefly=briefly)
    clear = cleared_take(laid, track, measured, kind=ear.kind, aloud=ear.aloud)
    if measured.refused and clear.claimed_db < LEAST_DB:
        return _unaligned(laid, track, ear=ear, kept=kept)
    beside = _past_loudspeaker(laid, track, clear, ear)
    if measured.refused:
        return _guessed(beside, clear)
    if not _lost(recorded, track, rate):
        return beside
    return replace(beside, remarks=(*beside.remarks, LOST))


def _mostly_lost(laid: Mended) -> bool:
    """Return whether nothing is known of more than half of a recording: what is left are crumbs."""
    return 2 * sum(each.stop - each.first for each in laid.spans) > len(laid.sound)


def _measured(recorded: Block, track: Block, rate: int, kept: Delay | None) -> SoundDelay:
    """Return the delay that the track tells, or that it has near the kept one."""
    measured = measured_delay(recorded, track, rate)
    if not measured.refused or kept is None or not kept.known:
        return measured
    within_s = REOPENED_S + KEPT_ERRORS * kept.error_s
    near = delay_near(recorded, track, rate, expected_s=kept.delay_s, within_s=within_s)
    return measured if near.refused else near


def _unaligned(
    laid: Mended, track: Block, *, ear: Ear, kept: Delay | None, briefly: bool = False
) -> HeardBeside:
    """Return what was heard where the track was not, or too ``briefly`` or softly to be taken out."""
    delay = kept or Delay(0.0, CLAIM_ERROR_S, known=False)
    onsets, among = _listened(laid, ear)
    unjudged = BRIEFLY if briefly else why_nobody(onsets, among, track, laid.rate)
    if unjudged:
        return HeardBeside(_take(laid), delay, unjudged=unjudged)
    heard = tuple(Heard(o.time_s - delay.delay_s, o.strength, o.uncertainty_s) for o in onsets)
    hidden = tuple(time_s - delay.delay_s for time_s in laid.unknown_s)
    lost = lost_sound(laid, lambda time_s: time_s - delay.delay_s)
    return HeardBeside(_take(laid, heard, hidden), delay, lost=lost)


def _listened(laid: Mended, ear: Ear) -> tuple[tuple[Onset, ...], Sequence[Candidate]]:
    """Return the player's onsets in a recording as it is, and all they were sorted from."""
    finder = OnsetFinder(laid.rate, kind=ear.kind, aloud=ear.aloud)
    onsets = (*finder.feed(laid.sound), *finder.finish())
    return laid.believed(onsets), finder.candidates


def _take(laid: Mended, heard: tuple[Heard, ...] = (), hidden: tuple[float, ...] = ()) -> Take:
    return Take("audio", "microphone", heard, len(laid.sound) / laid.rate, hidden)


def _guessed(beside: HeardBeside, clear: ClearedTake) -> HeardBeside:
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


def _past_loudspeaker(laid: Mended, track: Block, clear: ClearedTake, ear: Ear) -> HeardBeside:
    """Return what was heard once the loudspeaker is out, or as it was where that gains too little."""
    found = clear.clocks[0]
    delay = Delay(found.delay_s, found.error_s, known=True)
    if clear.claimed_db < LEAST_DB:
        onsets, among = _listened(laid, ear)
    else:
        onsets, among = laid.believed(clear.past.finish()), clear.past.foreign
    unjudged = why_nobody(onsets, among, track, laid.rate)
    if not onsets and clear.past.frames < BRIEF_S * laid.rate:
        unjudged = BRIEFLY
    lost = lost_sound(laid, clear.track_s)
    if unjudged:
        return HeardBeside(_take(laid), delay, unjudged=unjudged, lost=lost)
    heard = tuple(sorted(map(clear.heard, onsets), key=lambda each: each.time_s))
    hidden = tuple(map(clear.track_s, clear.past.hidden_s(onsets)))
    unknown = tuple(map(clear.track_s, laid.unknown_s))
    remark = POOR if clear.softer_db < POOR_DB else TAKEN_OUT
    remarks = [remark.format(softer=max(round(clear.softer_db), 0))]
    if hidden:
        remarks.append(HIDDEN)
    take = _take(laid, heard, (*hidden, *unknown))
    return HeardBeside(take, delay, tuple(remarks), lost=lost)
