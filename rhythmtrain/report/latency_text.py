"""The sound delay of a machine, said to a person."""

from dataclasses import dataclass

from rhythmtrain.report.lines import hanging

LEAD = (
    "It was tapped, so it also contains how much you yourself tap before or after a click: that "
    "cannot be told apart here. Measure it again for another player, or with other headphones."
)
KEPT = "It is kept for this device and taken off what you play from now on."
NOT_KEPT = "Nothing was kept."


@dataclass(frozen=True, slots=True)
class Measured:
    """A sound delay and how well it is known (95 %); ``taps`` is how many were counted."""

    delay_s: float
    error_s: float
    tapped: bool = False
    taps: int = 0


def latency_text(measured: Measured, device: str, *, kept: bool) -> str:
    """Return what was measured, what it contains, and what becomes of it."""
    lines = [
        f"Sound delay of {device}: {_ms(measured.delay_s)}, give or take {_ms(measured.error_s)}."
    ]
    if measured.tapped:
        lines.append(f"{measured.taps} taps were counted. {LEAD}")
    else:
        lines.append("From loudspeaker through the air to microphone: 3 ms of it for each metre.")
    lines.append(KEPT if kept else NOT_KEPT)
    return "\n".join(hanging("", line, indent=0) for line in lines)


def _ms(seconds: float) -> str:
    return f"{seconds * 1000:.1f} ms"
