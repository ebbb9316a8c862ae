"""What is known about a take before it is heard."""

import math
from dataclasses import dataclass

from rhythmtrain.errors import RequestError

TIMINGS = ("click", "recording", "free")


@dataclass(frozen=True, slots=True)
class Settings:
    """How a take is to be judged.

    ``timing`` is what the player followed.  ``start_s`` is the second of the take at which bar 1
    begins, None where that is to be found.  ``speed`` is the share of the written tempo, None
    where it is to be found within a factor of two.  ``detector_uncertainty_s`` is the standard
    error that the way of hearing adds to every onset.  ``remarks`` are sentences, without full
    stops, on what was asked, to be told first.  ``meet`` is None where every note is held against
    what kept time; for free playing over a recording it holds the bars where the two must meet,
    or none for the usual places; the recording's own speed is meant there where ``speed`` is None.  ``one_go`` is True where what kept time went through the passage once
    and did not wait: nobody began again.
    """

    timing: str = "click"
    start_s: float | None = None
    speed: float | None = 1.0
    detector_uncertainty_s: float = 0.0
    remarks: tuple[str, ...] = ()
    meet: tuple[int, ...] | None = None
    one_go: bool = False

    def __post_init__(self) -> None:
        """Refuse what cannot be meant."""
        if self.timing not in TIMINGS:
            allowed = ", ".join(TIMINGS)
            raise RequestError(f"timing must be one of {allowed}, got {self.timing!r}")
        if self.meet is not None and self.timing != "recording":
            raise RequestError("only beside a recording there are places to meet it")
        if self.start_s is not None and not math.isfinite(self.start_s):
            raise RequestError(f"the start must be a number of seconds, got {self.start_s}")
        if self.speed is not None and not (math.isfinite(self.speed) and self.speed > 0):
            raise RequestError(f"speed must be more than 0 (1 is as written), got {self.speed:g}")
        if not (math.isfinite(self.detector_uncertainty_s) and self.detector_uncertainty_s >= 0):
            raise RequestError(
                "the uncertainty of an onset must be 0 seconds or more, "
                f"got {self.detector_uncertainty_s}"
            )
