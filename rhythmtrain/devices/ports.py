"""What every device looks like from above: a clock, taps, sound out, and sound out and in.

**One clock.**  Every time is seconds of one ``Clock`` (``time.perf_counter`` on real devices,
moved by hand in ``fake``).  Only differences mean anything.

**Frames.**  Sound is counted in *frames*: one sample for each channel.  Frame 0 is the first frame
of the track, and the count goes on with the stream: where the track's blocks come too slowly
silence is heard and the late frames are left out, so the beat never moves.  What was recorded in
the same stream carries the number of the track's frame that was *handed out at the same moment*;
the way through loudspeaker, air and microphone then makes it late by the sound delay, a constant
number of frames.  After the last frame of the track the stream goes on for a tail of silence, so
that what is late is recorded too.

**Polling.**  A port starts when it is entered, and is then asked with ``poll(wait_s)``: it returns
as soon as something has come, or after ``wait_s`` seconds, with everything since the last time.
A drawing loop asks one port with a wait and the others with 0.  Nothing calls back.

**The end.**  ``ended`` is None while a port works.  A port that stops by itself says how; it never
raises for that, and what came before the end can still be polled, also after the port was left.
DeviceError and MissingPartError are raised only when a port is made or entered.

Everything a port hands out is frozen; arrays are not shared with the driver.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from types import TracebackType
from typing import Protocol, Self

import numpy as np
from numpy.typing import NDArray

Block = NDArray[np.float32]
STOP_KEY = "escape"


class How(Enum):
    """How a port came to its end."""

    FINISHED = "finished"
    STOPPED = "stopped"
    WENT_AWAY = "went away"


@dataclass(frozen=True, slots=True)
class Ended:
    """How a port ended, and one sentence for the player ("" where nothing need be said)."""

    how: How
    reason: str = ""


@dataclass(frozen=True, slots=True)
class Tap:
    """One key or note: when, which, how hard, and whether it went down or up.

    ``what`` is the key as typed ("space", "x", "left") or the number of a MIDI note as text
    ("60"); a release has the ``what`` of its press.  ``velocity`` is 1 to 127 where known.
    A terminal tells no releases.
    """

    time_s: float
    what: str
    velocity: int | None = None
    released: bool = False


@dataclass(frozen=True, slots=True)
class Stamp:
    """Frame ``frame`` was handed to the driver when the clock showed ``time_s``, or a little before.

    A stamp may be late (a busy machine), never early.
    """

    frame: int
    time_s: float


@dataclass(frozen=True, slots=True)
class Recorded:
    """Samples of one channel, full scale 1, shape ``(n,)``, from track frame ``frame`` on."""

    frame: int
    samples: Block


@dataclass(frozen=True, slots=True)
class Xrun:
    """Sound was lost somewhere from frame ``first`` up to, not including, frame ``end``.

    ``what`` says where: "played" (the device ran out of sound), "recorded" (the device could not
    hand over what it heard), "track" (the track was not made in time; the count of frames holds).
    """

    first: int
    end: int
    what: str


@dataclass(frozen=True, slots=True)
class Passed:
    """What a stream did since it was last asked, each in order of frames."""

    stamps: tuple[Stamp, ...] = ()
    recorded: tuple[Recorded, ...] = ()
    xruns: tuple[Xrun, ...] = ()


def gathered(turns: Iterable[Passed]) -> Passed:
    """Return what passed in all ``turns`` together."""
    all_turns = tuple(turns)
    return Passed(
        tuple(stamp for turn in all_turns for stamp in turn.stamps),
        tuple(block for turn in all_turns for block in turn.recorded),
        tuple(xrun for turn in all_turns for xrun in turn.xruns),
    )


class Clock(Protocol):
    """A clock that only goes forward."""

    def now_s(self) -> float:
        """Return the time in seconds."""
        ...


class Port(Protocol):
    """What all ports share: entered to start, left to stop, and a word about the end."""

    @property
    def name(self) -> str:
        """Return what a person calls the device."""
        ...

    @property
    def stamp_error_s(self) -> float:
        """Return how far, in seconds, a single stamp of this port may be off (p95)."""
        ...

    @property
    def ended(self) -> Ended | None:
        """Return how the port ended, None while it works."""
        ...

    def stop(self) -> None:
        """Stop now, as STOPPED if nothing ended the port before; harmless when repeated."""
        ...

    def __enter__(self) -> Self:
        """Start the device; DeviceError where it cannot."""
        ...

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
        /,
    ) -> None:
        """Stop and give the device back."""
        ...


class TapSource(Port, Protocol):
    """Something to tap on.  The stop key ends it as STOPPED and is not handed out as a tap."""

    def poll(self, wait_s: float = 0.0) -> tuple[Tap, ...]:
        """Return the taps since the last time, waiting up to ``wait_s`` seconds for one."""
        ...


class Output(Port, Protocol):
    """Something that plays a track, made with the track's blocks.

    It ends as FINISHED when the last frame and the tail have been heard.
    """

    @property
    def rate(self) -> int:
        """Return frames a second."""
        ...

    @property
    def system(self) -> str:
        """Return the sound system below ("ALSA"): each has a delay of its own for one device."""
        ...

    @property
    def claimed_delay_s(self) -> float:
        """Return what the driver says lies between a stamp and the ear; 0 where it says nothing."""
        ...

    def poll(self, wait_s: float = 0.0) -> Passed:
        """Return what passed since the last time, waiting up to ``wait_s`` seconds for anything."""
        ...


class Duplex(Output, Protocol):
    """An output that also records, in the same stream and the same count of frames.

    ``Passed.recorded`` is without gaps: it starts at frame 0 and every block begins where the last
    one ended.  At an Xrun of "played" or "recorded" the sound delay may jump.
    """
