"""A take played here and now: from a plan to what was heard of it, in track time.

Keys and pads are placed by the clock model, less the sound delay that was kept for this machine;
what a microphone heard is placed by the track itself, heard beside the claps.  A take that was
stopped, or whose device went away, is checked as far as it goes.
"""

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import Path

import numpy as np

from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Take
from rhythmtrain.capture.taps import TapPath, take_of_taps
from rhythmtrain.devices.ports import Block, How
from rhythmtrain.errors import TakeError
from rhythmtrain.prompts.plan import Plan
from rhythmtrain.rehearsal.beside import USUAL_EAR, Ear, heard_beside
from rhythmtrain.rehearsal.checked import Asked, Checked, judged
from rhythmtrain.rehearsal.gathered import Gathered
from rhythmtrain.rehearsal.live import Hearing, Rig, Shown, play
from rhythmtrain.rehearsal.live_ear import LiveEar
from rhythmtrain.rehearsal.sound_delay import Delay, claimed
from rhythmtrain.rehearsal.stage import NoStage
from rhythmtrain.rehearsal.track_recorded import played
from rhythmtrain.rehearsal.track_sound import Quality, sounded
from rhythmtrain.render.mixer import STEREO
from rhythmtrain.storage.recordings import Recording
from rhythmtrain.timing.timeline import Timeline, lay_out

XRUN_ERROR_S = 0.005
AFTER_LAST_S = 0.2
NOTHING = {
    "keys": "press the space bar, or any key, on every note",
    "midi": "is the pad or keyboard connected, and chosen with --from midi:PORT?",
    "audio": "is the microphone on, near, and chosen with --from mic:DEVICE?",
}


@dataclass(frozen=True, slots=True)
class Sounding:
    """What is played: its plan, the language and voice of its words, the recording laid in it."""

    plan: Plan
    language: str = "en"
    voice: Path | None = None
    recording: Recording | None = None


Known = Callable[[Gathered], Delay | None]


@dataclass(frozen=True, slots=True)
class Performance:
    """One take as it was played: what was gathered, and what was heard of it in track time.

    ``remarks`` are whole sentences on how it was heard; ``unsaid`` what the voice has no words for;
    ``unjudged`` says why what was heard is not held against the passage.
    """

    gathered: Gathered
    take: Take
    delay: Delay
    remarks: tuple[str, ...] = ()
    unsaid: tuple[str, ...] = ()
    unjudged: str = ""

    @property
    def notes(self) -> tuple[str, ...]:
        """Return whole sentences on how it was played and heard."""
        return (*self.incidents, *self.remarks, *filter(None, (self.unjudged,)))

    @property
    def incidents(self) -> tuple[str, ...]:
        """Return one line for each thing that happened to the devices, or to the take."""
        lines = []
        ended, lost = self.gathered.ended, self.gathered.lost
        if ended.how is How.STOPPED:
            lines.append("You stopped before the end: what you played until then was checked.")
        if ended.how is How.WENT_AWAY:
            lines.append(f"{_capital(ended.reason)}: what was played until then is checked.")
        if lost:
            times = "once" if lost == 1 else f"{lost} times"
            lines.append(
                f"Sound was lost {times} while you played: single claps are known less finely."
            )
        return tuple(lines)


def perform(
    rig: Rig, sounding: Sounding, shown: Shown, *, known: Known, ear: Ear = USUAL_EAR
) -> Performance:
    """Play ``sounding`` on ``rig`` and return what was heard, which may be nothing.

    ``known`` gives the sound delay that was kept for the devices, None where there is none.

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
    track: list[Block] = []
    tapped = rig.taps is not None

    def delay_s(gathered: Gathered) -> float | None:
        before = known(gathered)
        return None if before is None else before.delay_s

    shown = replace(shown, delay_s=delay_s)
    if tapped:
        gathered = play(rig, blocks, shown)
    else:

        def hearing(late_s: float) -> Hearing:
            return LiveEar(rig.rate, ear, track, delay_s=late_s)

        seen = not isinstance(shown.stage, NoStage)
        gathered = play(rig, _kept(blocks, track), shown, hearing=hearing if seen else None)
    kept = known(gathered)
    if not tapped:
        sound = np.concatenate(track)[: len(gathered.recorded)]
        heard = heard_beside(gathered.recorded, sound, rig.rate, ear=ear, kept=kept)
        return Performance(gathered, heard.take, heard.delay, heard.remarks, unsaid, heard.unjudged)
    delay = kept or claimed(gathered.claimed_delay_s)
    delay = replace(delay, error_s=float(np.hypot(delay.error_s, rig.start_error_s)))
    duration_s = min(gathered.played_s, sounding.plan.duration_s)
    take = taken(gathered, rig.source, delay, duration_s)
    return Performance(gathered, take, delay, _of_start(rig.start_error_s), unsaid)


def _of_start(error_s: float) -> tuple[str, ...]:
    """Return what is to be said of a track whose start the driver does not tell."""
    if not error_s:
        return ()
    within = f"where all of it lies beside the click is known to {error_s * 1000:.0f} ms only"
    return (f"This way of playing does not tell when the track began: {within}.",)


def judged_live(
    performance: Performance, timeline: Timeline, asked: Asked, *, timing: str = "click"
) -> Checked:
    """Return what was played held against ``timeline``, which the track was laid along.

    ``timing`` says what kept time in it, as in ``Settings``.

    Raises:
        TakeError: nothing was played.
    """
    take = performance.take
    if not take.heard:
        raise TakeError(performance.unjudged or f"nothing was played: {NOTHING[take.source]}")
    reached = as_far_as(timeline, performance.gathered, take)
    start_s = float(reached.track_seconds(Fraction(0)))
    settings = Settings(timing, start_s, reached.practice.speed)
    stopped = performance.gathered.ended.how is not How.FINISHED
    asked = replace(asked, delay_known=performance.delay.known, stopped=stopped)
    return judged(reached, take, settings, asked)


def taken(gathered: Gathered, source: str, delay: Delay, duration_s: float) -> Take:
    """Return the taps that were gathered as a take in track time; it may be empty.

    A delay that was only claimed adds nothing to what is not known of single taps: it is common
    to all of them.
    """
    stamp_error_s = gathered.stamp_error_s
    if gathered.xruns:
        stamp_error_s = float(np.hypot(stamp_error_s, XRUN_ERROR_S))
    error_s = delay.error_s if delay.known else 0.0
    path = TapPath(source, gathered.heard_from, stamp_error_s, delay.delay_s, error_s)
    return take_of_taps(gathered.touches, gathered.model, path, duration_s=duration_s)


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
        shorter, notes=notes, entries=entries, tempo=timeline.tempo, doubts=timeline.doubts
    )


def _kept(blocks: Iterable[Block], track: list[Block]) -> Iterator[Block]:
    """Yield ``blocks`` and keep a copy of each, in one channel."""
    for block in blocks:
        track.append(block.mean(axis=1, dtype=np.float32))
        yield block


def _capital(words: str) -> str:
    return words[:1].upper() + words[1:]
