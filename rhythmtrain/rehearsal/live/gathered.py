"""All that came of one take: stamps, taps, what was recorded, what was lost.

Everything is put into track time afterwards, when all stamps are known; what is drawn meanwhile
needs only a rough clock, the earliest stamp so far.
"""

from dataclasses import dataclass, field

import numpy as np

from rhythmtrain.capture.clock import ClockLine, ClockModel
from rhythmtrain.devices.ports import Block, Ended, How, Passed, Tap, Xrun

JUMPS = "played"


@dataclass(slots=True)
class Gathered:
    """All that came of one take, on the computer's clock and in frames of the track."""

    rate: int
    name: str = ""
    heard_from: str = ""
    system: str = ""
    ended: Ended = field(default_factory=lambda: Ended(How.FINISHED))
    claimed_delay_s: float = 0.0
    stamp_error_s: float = 0.0
    touches: list[Tap] = field(default_factory=list)
    xruns: list[Xrun] = field(default_factory=list)
    blocks: list[Block] = field(default_factory=list)
    frames: int = 0
    line: ClockLine = field(init=False)
    zero_s: float = field(init=False, default=np.inf)
    _jumps: list[int] = field(init=False, default_factory=list)

    def __post_init__(self) -> None:
        """Begin with no stamps."""
        self.line = ClockLine(self.rate)

    def take(self, passed: Passed) -> None:
        """Take what passed in the stream."""
        self.xruns += passed.xruns
        self._jumps += [xrun.end for xrun in passed.xruns if xrun.what == JUMPS]
        for stamp in passed.stamps:
            if self._jumps and stamp.frame >= self._jumps[0]:
                self.line.lost(self._jumps.pop(0))
            self.line.add(stamp.frame, stamp.time_s)
            self.zero_s = min(self.zero_s, stamp.time_s - stamp.frame / self.rate)
            self.frames = max(self.frames, stamp.frame)
        self.blocks += [each.samples for each in passed.recorded]

    @property
    def lost(self) -> int:
        """Return how many times sound was lost, played and recorded alike."""
        return len({xrun.first for xrun in self.xruns})

    @property
    def model(self) -> ClockModel:
        """Return the line from the clock to the track; TakeError where the sound hardly began."""
        return self.line.model()

    @property
    def recorded(self) -> Block:
        """Return all that was recorded, shape ``(n,)``, from frame 0 of the track on.

        It is laid into one piece when it is first asked for, so that nothing is held twice.
        """
        if len(self.blocks) != 1:
            self.blocks = [np.concatenate(self.blocks) if self.blocks else np.zeros(0, np.float32)]
        return self.blocks[0]

    def forget_sound(self) -> None:
        """Let go of what was recorded, once it has been heard."""
        self.blocks = []

    @property
    def device(self) -> str:
        """Return the name of all that the sound and the taps went through."""
        return ", ".join(dict.fromkeys((self.name, self.heard_from)))

    @property
    def played_s(self) -> float:
        """Return how much of the track was played, in seconds."""
        return self.frames / self.rate
