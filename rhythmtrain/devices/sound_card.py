"""How sound is wished for: which devices, how fast, in how large turns."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class SoundCard:
    """How sound is wished for.

    ``loudspeaker`` and ``microphone`` are a device's number or part of its name, None for the usual
    one; ``block`` is frames a turn, ``latency`` "low", "high" or seconds; after the track the stream
    goes on for ``tail_s``.
    """

    loudspeaker: str | None = None
    microphone: str | None = None
    rate: int = 48_000
    block: int = 256
    latency: str | float = "low"
    tail_s: float = 0.5


USUAL = SoundCard()
