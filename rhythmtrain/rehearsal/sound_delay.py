"""How late what was played is heard: measured and kept, or only claimed by the driver."""

from dataclasses import dataclass

from rhythmtrain.rehearsal.live import Gathered

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


def kept_delay(_gathered: Gathered) -> Delay | None:
    """Return the delay that was kept for these devices, None where there is none."""
    return None
