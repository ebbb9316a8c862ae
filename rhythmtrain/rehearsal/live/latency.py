"""Measuring the sound delay of this machine, and keeping it by device, rate and driver.

From loudspeaker to microphone it is found in what the microphone hears of a track, to a fraction
of a millisecond.  For keys and pads there is nothing to listen with, so one taps to a click; what
comes out contains the player's own lead or lag as well, and it is said so.
"""

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import Any

from rhythmtrain.capture.tapped_delay import tapped_delay
from rhythmtrain.errors import TakeError
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.live.beside import Ear
from rhythmtrain.rehearsal.live.dry_run import CAREFUL, LISTENER, dry_rig
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.live import Rig, Shown
from rhythmtrain.rehearsal.live.performance import Performance, gone
from rhythmtrain.rehearsal.live.rigs import MIC, TapsFrom, real_rig, taps_from
from rhythmtrain.rehearsal.live.sound_delay import Delay, keep_delay
from rhythmtrain.rehearsal.live.stage import NoStage, Stage
from rhythmtrain.rehearsal.live.take import Sounding, perform
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.latency_text import Measured, latency_text
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, Kind, Passage, Place
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from rhythmtrain.units import Bpm

TAPPED, HEARD = "tapped", "heard"
TAPPING_TEMPO, TAPPING_BARS = 80.0, 6
# Words, clicks and claps: a click alone comes round too evenly to tell one from the next.
TRACK, TRACK_BARS = "towpath-rag", "1-6"
NO_DELAY = Delay(0.0, 0.0, known=True)
TAP = "Tap with every click, as evenly as you can, until the end."
LISTEN = "Be silent: the microphone listens to the loudspeaker. No headphones for this."
CARE = "Start quiet; keep the volume low."


@dataclass(frozen=True, slots=True)
class LatencyWish:
    """What is to be measured: options as typed."""

    source: str = "mic"
    loudspeaker: str | None = None
    dry_run: bool = False


@dataclass(frozen=True, slots=True)
class _Way:
    """One way of measuring: its track, what is asked of the player, how the delay comes of it."""

    how: str
    timeline: Timeline
    wishes: Wishes
    asked: str
    found: Callable[[Performance, Plan], Measured]


def measure_latency(wish: LatencyWish, stage: Stage | None = None) -> Told:
    """Measure the sound delay, keep it, and return it.

    Raises:
        TakeError: it could not be told.
        DeviceError, MissingPartError: a device is missing.
    """
    wanted = taps_from(wish.source)
    way = _heard() if wanted.kind == MIC else _tapped()
    plan = plan_track(way.timeline, way.wishes)
    shown = Shown(stage or NoStage(), way.timeline, "Sound delay", (way.asked, CARE))
    rig = _rig(wish, wanted, way.timeline)
    performance = perform(rig, Sounding(plan), shown, known=_none, ear=Ear(aloud=False))
    away = gone(performance.gathered, "the sound delay was measured")
    if away:
        raise TakeError(away)
    measured = way.found(performance, plan)
    if not wish.dry_run:
        keep_delay(performance.gathered, measured.delay_s, measured.error_s, how=way.how)
    document: dict[str, Any] = {
        "device": performance.gathered.device,
        "rate": rig.rate,
        "how": way.how,
        "delay_ms": measured.delay_s * 1000,
        "error_ms": measured.error_s * 1000,
        "kept": not wish.dry_run,
    }
    text = latency_text(measured, performance.gathered.device, kept=not wish.dry_run)
    return Told("\n\n".join([text, *performance.incidents]), document)


def tapping_track() -> tuple[Timeline, Plan]:
    """Return the row of clicks to which one taps, and what sounds of it."""
    way = _tapped()
    return way.timeline, plan_track(way.timeline, way.wishes)


def _tapped() -> _Way:
    metre = Metre((4,), 4)
    places = tuple(Place(Fraction(beat), Kind.PLAYED) for beat in range(4))
    bars = tuple(
        Bar(number, metre, places, Fraction(0), metre.length)
        for number in range(1, TAPPING_BARS + 1)
    )
    passage = Passage("Tap with every click", Bpm(TAPPING_TEMPO), bars)
    timeline = lay_out(passage, Practice(count_in=1))
    return _Way(TAPPED, timeline, Wishes(layers=frozenset({Layer.CLICK})), TAP, _of_taps)


def _of_taps(performance: Performance, plan: Plan) -> Measured:
    clicks = [each.time_s for each in plan.prompts if each.layer is Layer.CLICK]
    found = tapped_delay(clicks, performance.take.times_s)
    return Measured(found.delay_s, found.error_s, tapped=True, taps=found.taps)


def _heard() -> _Way:
    timeline = lay_out(find_passage(TRACK, TRACK_BARS), Practice(count_in=1))
    return _Way(HEARD, timeline, Wishes(), LISTEN, _of_sound)


def _of_sound(performance: Performance, _plan: Plan) -> Measured:
    delay = performance.delay
    if not delay.known:
        raise TakeError(
            "the track was not heard clearly enough in the microphone: turn the loudspeaker up or "
            "the microphone towards it, switch off echo cancelling, and try again"
        )
    return Measured(delay.delay_s, delay.error_s)


def _rig(wish: LatencyWish, wanted: TapsFrom, timeline: Timeline) -> Rig:
    if wish.dry_run:
        player = LISTENER if wanted.kind == MIC else CAREFUL
        return dry_rig(timeline, wanted.kind, player)
    return real_rig(wanted, wish.loudspeaker)


def _none(_gathered: Gathered) -> Delay:
    return NO_DELAY
