"""One turn of a sound card: what it was asked for, when, what came and what was lost in it."""

from dataclasses import dataclass
from typing import Any

import numpy as np

from rhythmtrain.devices.ports import Block, Passed, Recorded, Stamp, Xrun


@dataclass(frozen=True, slots=True)
class Turn:
    """One turn of the callback: what it was asked for, when, what it was given."""

    frame: int
    frames: int
    time_s: float
    heard: Block | None
    lost: tuple[str, ...]

    @property
    def passed(self) -> Passed:
        """Return it as what passed in the stream."""
        end = self.frame + self.frames
        return Passed(
            (Stamp(self.frame, self.time_s),),
            () if self.heard is None else (Recorded(self.frame, np.ascontiguousarray(self.heard)),),
            tuple(Xrun(self.frame, end, what) for what in self.lost),
        )


def lost_in(status: Any, *, late: bool) -> tuple[str, ...]:
    """Return what was lost: the library's ``status`` of a turn, and whether the track was ``late``."""
    flags = {
        "played": status.output_underflow,
        "recorded": status.input_overflow,
        "track": late,
    }
    return tuple(what for what, raised in flags.items() if raised)
