"""A take played here and now: from a plan to what was heard of it, in track time.

Keys and pads are placed by the clock model, less the sound delay that was kept for this machine;
what a microphone heard is placed by the track itself, heard beside the claps.
"""

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from rhythmtrain.capture.take import Take
from rhythmtrain.devices.ports import Block, How
from rhythmtrain.devices.waking import go_sooner
from rhythmtrain.hearing.live.way import Way
from rhythmtrain.prompts.plan import Plan
from rhythmtrain.rehearsal.live.beside import USUAL_EAR, Ear, heard_beside
from rhythmtrain.rehearsal.live.ear import LiveEar
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.live import Hearing, Rig, Shown, play
from rhythmtrain.rehearsal.live.lost_sound import LostSound, hints_of, lost_in_words
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.rehearsal.live.sound_delay import Delay, claimed
from rhythmtrain.rehearsal.live.stage import NoStage
from rhythmtrain.rehearsal.live.tapped import taken
from rhythmtrain.rehearsal.tracks.recordings import played
from rhythmtrain.rehearsal.tracks.sound import Quality, sounded
from rhythmtrain.render.mixer import STEREO
from rhythmtrain.storage.recordings import Recording

LEAST_S = 1.0
LEARNING = "learning"
HEARING = "   What was played is being heard now; after a long take that lasts a while."


@dataclass(frozen=True, slots=True)
class Sounding:
    """What is played: its plan, the language and voice of its words, the recording laid in it."""

    plan: Plan
    language: str = "en"
    voice: Path | None = None
    recording: Recording | None = None


Known = Callable[[Gathered], Delay | None]


def perform(
    rig: Rig,
    sounding: Sounding,
    shown: Shown,
    *,
    known: Known,
    ear: Ear = USUAL_EAR,
    way: Way | None = None,
) -> Performance:
    """Play ``sounding`` on ``rig`` and return what was heard, which may be nothing.

    ``known`` gives the sound delay that was kept for the devices, None where there is none;
    ``way`` is what the take before this one taught of the same loudspeaker and microphone.

    Raises:
        TakeError: the sound hardly began, or the recording is silent here.
        DeviceError, MissingPartError: a device that cannot be opened.
        FileError: the recording does not read.
    """
    recording, laid = sounding.recording, sounding.plan.laid
    blocks, unsaid = sounded(
        sounding.plan,
        language=sounding.language,
        voice=sounding.voice,
        quality=Quality(rig.rate, STEREO),
        pieces=() if recording is None else played(laid, recording, rate=rig.rate),
    )

    def delay_s(gathered: Gathered) -> float | None:
        before = known(gathered)
        return None if before is None else before.delay_s

    shown = replace(shown, delay_s=delay_s)
    if rig.taps is None:
        heard = _listened(rig, blocks, shown, known=known, ear=ear, way=way)
        return replace(heard, unsaid=unsaid)
    gathered = play(rig, blocks, shown)
    delay = known(gathered) or claimed(gathered.claimed_delay_s)
    delay = replace(delay, error_s=float(np.hypot(delay.error_s, rig.start_error_s)))
    duration_s = min(gathered.played_s, sounding.plan.duration_s)
    take = _nothing(rig, gathered) or taken(gathered, rig.source, delay, duration_s)
    remarks = (*_stood_still(gathered, shown), *_of_start(rig.start_error_s))
    return Performance(gathered, take, delay, remarks, unsaid, way=way)


def _listened(
    rig: Rig,
    blocks: Iterable[Block],
    shown: Shown,
    *,
    known: Known,
    ear: Ear,
    way: Way | None,
) -> Performance:
    """Play ``blocks`` and return what the microphone heard beside them."""
    track: list[Block] = []
    ears: list[LiveEar] = []
    seen = not isinstance(shown.stage, NoStage)
    with ThreadPoolExecutor(1, LEARNING, initializer=go_sooner) as aside:

        def hearing(late_s: float) -> Hearing:
            ears.append(LiveEar(rig.rate, ear, track, delay_s=late_s, way=way, work=aside.submit))
            return ears[-1]

        gathered = play(rig, _kept(blocks, track), shown, hearing=hearing if seen else None)
    nothing = _nothing(rig, gathered)
    if nothing is not None:
        return Performance(gathered, nothing, known(gathered) or claimed(gathered.claimed_delay_s))
    sound = np.concatenate(track)[: len(gathered.recorded)]
    track.clear()
    kept, hints = known(gathered), hints_of(gathered)
    with shown.stage as stage:
        stage.draw((shown.head, "", HEARING))
        heard = heard_beside(gathered.recorded, sound, rig.rate, ear=ear, kept=kept, hints=hints)
    remarks = (*lost_in_words(heard.lost, shown.timeline), *heard.remarks)
    learned = ears[-1].way if ears else way
    return Performance(gathered, heard.take, heard.delay, remarks, (), heard.unjudged, learned)


def _nothing(rig: Rig, gathered: Gathered) -> Take | None:
    """Return a take without anything in it where a device went away before one could begin."""
    if gathered.ended.how is not How.WENT_AWAY or gathered.played_s >= LEAST_S:
        return None
    return Take(rig.source, gathered.heard_from, (), gathered.played_s)


def _stood_still(gathered: Gathered, shown: Shown) -> tuple[str, ...]:
    """Return in which bars the sound stood still though no device told of it."""
    if gathered.played_s < LEAST_S:
        return ()
    stood = [LostSound(first_s, last_s) for first_s, last_s in gathered.model.stood_s]
    return lost_in_words(stood, shown.timeline)


def _of_start(error_s: float) -> tuple[str, ...]:
    """Return what is to be said of a track whose start the driver does not tell."""
    if not error_s:
        return ()
    within = f"where all of it lies beside the click is known to {error_s * 1000:.0f} ms only"
    return (f"This way of playing does not tell when the track began: {within}.",)


def _kept(blocks: Iterable[Block], track: list[Block]) -> Iterator[Block]:
    """Yield ``blocks`` and keep a copy of each, in one channel."""
    for block in blocks:
        track.append(block.mean(axis=1, dtype=np.float32))
        yield block
