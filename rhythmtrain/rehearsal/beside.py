"""What a microphone heard while the track played: a take in track time."""

from dataclasses import dataclass

from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.devices.ports import Block
from rhythmtrain.hearing.delay import sound_delay
from rhythmtrain.hearing.onsets import find_onsets
from rhythmtrain.rehearsal.sound_delay import Delay

LOUDSPEAKER = (
    "The microphone heard the loudspeaker too: a click cannot be told from a clap on it. "
    "Use headphones for a take that can be believed."
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
    afresh; its clicks cannot be told from claps on them, and it is said so.
    """
    recorded = recorded[: len(track) + rate]
    measured = sound_delay(recorded, track, rate)
    delay = kept or Delay(0.0, 0.15, known=False)
    if measured is not None:
        delay = Delay(measured.delay_s, measured.error_s, known=True)
    onsets = find_onsets(recorded, rate, kind=ear.kind)
    heard = tuple(Heard(o.time_s - delay.delay_s, o.strength, o.uncertainty_s) for o in onsets)
    take = Take("audio", "microphone", heard, len(recorded) / rate)
    return HeardBeside(take, delay, (LOUDSPEAKER,) if measured is not None else ())
