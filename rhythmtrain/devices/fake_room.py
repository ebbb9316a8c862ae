"""A room that is only arithmetic: loudspeaker, air, microphone and a clapping player.

What the microphone hears at frame f is the track at frame f - delay (plus a slow drift where
recording and playing run on different quartzes), times a gain, plus the player's claps, plus noise.
Where sound is lost the delay jumps: sound that the output ran out of comes later, sound that the
input dropped brings all that follows forward.  Only as much of the track is kept as the delay
needs.
"""

from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.devices.ports import Block

CLAP_FRAMES = 1200
CLAP_DECAY = 200.0
FORGOTTEN_AT_ONCE = 8192
LATER = {"played": 1, "recorded": -1, "both": 0}


@dataclass(frozen=True, slots=True)
class Dropout:
    """At frame ``first`` the stream loses ``lost`` frames.

    ``what`` is "played" (all heard afterwards is later), "recorded" (earlier) or "both" (a server
    that skipped a turn: neither).  On the clock all later frames come later.  Where it is not
    ``told`` the card says nothing of it.
    """

    first: int
    lost: int
    what: str = "both"
    told: bool = True


@dataclass(frozen=True, slots=True)
class Room:
    """The way from loudspeaker to microphone, and who claps in it.

    ``delay`` is the sound delay in frames; ``drift_ppm`` by how many millionths of the time it
    grows; ``gain`` the loudspeaker at the microphone; ``noise`` the rms of what hisses;
    ``claps_s`` when claps reach the microphone, in seconds of the recording, with peak
    ``clap_peak``; ``seed`` chooses noise and claps.
    """

    delay: int = 0
    gain: float = 1.0
    noise: float = 0.0
    drift_ppm: float = 0.0
    dropouts: tuple[Dropout, ...] = ()
    claps_s: tuple[float, ...] = ()
    clap_peak: float = 0.5
    seed: int = 0


@dataclass(slots=True)
class Microphone:
    """What is heard in ``room`` of a track at ``rate``, block after block."""

    room: Room
    rate: int
    _random: np.random.Generator = field(init=False)
    _clap: NDArray[np.float64] = field(init=False)
    _past: NDArray[np.float64] = field(init=False)
    _past_from: int = field(init=False, default=0)
    _frame: int = field(init=False, default=0)

    def __post_init__(self) -> None:
        """Begin in silence."""
        self._random = np.random.default_rng(self.room.seed)
        self._clap = _clap(self.room.clap_peak, self._random)
        self._past = np.zeros(0)

    def hear(self, block: Block) -> Block:
        """Return what is recorded, shape ``(n,)``, while ``block``, ``(n, channels)``, is played."""
        mono = block.mean(axis=1, dtype=np.float64)
        self._past = np.concatenate([self._past, mono])
        frames = self._frame + np.arange(len(mono))
        wanted = frames - self._delays(frames)
        heard = self.room.gain * _read(self._past, wanted - self._past_from)
        heard += self._claps(self._frame, len(mono))
        heard += self.room.noise * self._random.standard_normal(len(mono))
        self._frame += len(mono)
        self._forget(int(min(wanted[-1], self._frame)) - 4)
        return heard.astype(np.float32)

    def _delays(self, frames: NDArray[np.int64]) -> NDArray[np.float64]:
        delays = self.room.delay + frames * (self.room.drift_ppm * 1e-6)
        for each in self.room.dropouts:
            delays[frames >= each.first] += LATER[each.what] * each.lost
        return np.asarray(np.maximum(delays, 0.0), dtype=np.float64)

    def _claps(self, first: int, count: int) -> NDArray[np.float64]:
        sound = np.zeros(count)
        for time_s in self.room.claps_s:
            begin = round(time_s * self.rate) - first
            lower, upper = max(begin, 0), min(begin + len(self._clap), count)
            if lower < upper:
                sound[lower:upper] += self._clap[lower - begin : upper - begin]
        return sound

    def _forget(self, before: int) -> None:
        gone = before - self._past_from
        if gone > FORGOTTEN_AT_ONCE:
            self._past = self._past[gone:].copy()
            self._past_from = before


def _clap(peak: float, random: np.random.Generator) -> NDArray[np.float64]:
    """Return a short noise that begins at its peak and dies away."""
    falling = np.exp(-np.arange(CLAP_FRAMES) / CLAP_DECAY)
    sound = random.uniform(-0.7, 0.7, CLAP_FRAMES) * falling
    sound[0] = 1.0
    return peak * sound


def _read(sound: NDArray[np.float64], at: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return ``sound`` at fractional places by third-order Lagrange; silence outside."""
    left = np.floor(at).astype(np.int64)
    part = at - left
    weights = (
        -part * (part - 1) * (part - 2) / 6,
        (part + 1) * (part - 1) * (part - 2) / 2,
        -(part + 1) * part * (part - 2) / 2,
        (part + 1) * part * (part - 1) / 6,
    )
    total = np.zeros(len(at))
    for step, weight in enumerate(weights, start=-1):
        place = left + step
        inside = (place >= 0) & (place < len(sound))
        total[inside] += weight[inside] * sound[place[inside]]
    return total
