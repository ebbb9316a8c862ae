"""How late what was played is heard: measured and kept, or only claimed by the driver."""

from dataclasses import dataclass
from datetime import UTC, datetime

from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.storage.settings import DelayKey, KeptDelay, keep_sound_delay, kept_sound_delay

# How far a driver's own claim may be off: hidden buffers, and headphones without a cable.
CLAIM_ERROR_S = 0.150


@dataclass(frozen=True, slots=True)
class Delay:
    """The sound delay taken off every clap; ``known`` is False where nobody measured it."""

    delay_s: float
    error_s: float
    known: bool


def claimed(delay_s: float) -> Delay:
    """Return the delay that a driver claims."""
    return Delay(delay_s, CLAIM_ERROR_S, known=False)


def kept_delay(gathered: Gathered) -> Delay | None:
    """Return the delay that was measured and kept for these devices, None where there is none."""
    kept = kept_sound_delay(_key(gathered))
    return None if kept is None else Delay(kept.delay_s, kept.error_s, known=True)


def keep_delay(gathered: Gathered, delay_s: float, error_s: float, *, how: str) -> None:
    """Keep a delay that was measured just now for these devices, from now on."""
    now = datetime.now(UTC).astimezone().isoformat(timespec="seconds")
    keep_sound_delay(_key(gathered), KeptDelay(delay_s, error_s, how, now))


def _key(gathered: Gathered) -> DelayKey:
    driver = ", ".join(filter(None, (gathered.system, gathered.heard_from)))
    return DelayKey(gathered.name, gathered.rate, driver)
