"""The way from loudspeaker to microphone: what one take, or a part of it, teaches of the next.

A ``Way`` is delay, the clocks' skew, and the room's response to the track and to its cube (see
``room`` and ``bleed``).  A ``Window`` is a stretch that was heard, with the track that was played
meanwhile: with a way, it says what of it is the loudspeaker's.
"""

from dataclasses import dataclass

import numpy as np
from scipy.fft import irfft, next_fast_len, rfft

from rhythmtrain.hearing.bleed.bleed import QUIET, Cleared
from rhythmtrain.hearing.bleed.correlation import HIGH_HZ, LOW_HZ, Sound
from rhythmtrain.hearing.bleed.room import AHEAD_S, Inputs, inputs_of, predicted, with_cube
from rhythmtrain.hearing.bleed.skew import warped

CELL_S = 0.01


@dataclass(frozen=True, slots=True, eq=False)
class Way:
    """How a track reaches the microphone.

    Attributes:
        rate: Samples a second.
        delay_s: How late frame 0 of the track is heard,
        skew_ppm: and by how many millionths of the time that grows.
        rooms: Responses to the track and to its cube, shape (2, taps), float32.
        highest: The sample at which the cube is as high as the track.
    """

    rate: int
    delay_s: float
    skew_ppm: float
    rooms: Sound
    highest: float

    @property
    def taps(self) -> int:
        """Return how many samples long the responses are."""
        return int(self.rooms.shape[1])


@dataclass(frozen=True, slots=True, eq=False)
class Window:
    """What was heard from frame ``first`` on, and the track from its frame ``track_first`` on."""

    heard: Sound
    first: int
    track: Sound
    track_first: int
    rate: int

    def laid(self, way: Way, frames: tuple[int, int]) -> Sound:
        """Return the track on the recording's clock at ``frames`` (first, stop), a little early."""
        return laid(self.track, self.track_first, frames, way)

    def inputs(self, way: Way) -> Inputs:
        """Return the track, and its cube, ready to be convolved with the room.

        They begin a response before the first frame, so that its sound is whole there.
        """
        frames = (self.first - way.taps, self.first + len(self.heard))
        return inputs_of(with_cube(self.laid(way, frames), way.highest), self.rate)

    def bleed(self, way: Way, inputs: Inputs) -> Sound:
        """Return what is predicted of the loudspeaker, shape of ``heard``."""
        return predicted(inputs, way.rooms)[way.taps :]


def laid(track: Sound, track_first: int, frames: tuple[int, int], way: Way) -> Sound:
    """Return ``track``, known from ``track_first`` on, as the recording's clock has it."""
    later_s = track_first * (1 + way.skew_ppm * 1e-6) / way.rate
    delay_s = way.delay_s - AHEAD_S + later_s
    return warped(track, frames, way.rate, delay_s=delay_s, skew_ppm=way.skew_ppm)


def way_of(stretch: Cleared, rate: int) -> Way:
    """Return the way as a stretch of a take had it."""
    delay = stretch.delay
    return Way(rate, delay.delay_s, delay.skew_ppm, stretch.rooms, stretch.highest)


def softer_db(heard: Sound, bleed: Sound, rate: int) -> float:
    """Return by how much ``heard`` is softer without ``bleed`` where that is loud, usually.

    That is the median over cells of 10 ms, so claps do not count.
    """
    step = round(CELL_S * rate)
    count = len(heard) // step
    before, expected, after = (
        np.square(each[: count * step], dtype=np.float64).reshape(count, step).sum(axis=1)
        for each in (heard, bleed, heard - bleed)
    )
    loud = expected >= np.median(expected)
    return 10 * float(np.log10(np.median((before[loud] + QUIET) / (after[loud] + QUIET))))


def likest(heard: Sound, bleed: Sound, rate: int, reach_s: float) -> int:
    """Return by how many samples, up to ``reach_s``, ``heard`` is likest to a later ``bleed``."""
    reach = round(reach_s * rate)
    size = next_fast_len(len(bleed) + reach, real=True)
    cross = rfft(heard, size) * np.conj(rfft(bleed, size))
    hertz = np.arange(len(cross)) * (rate / size)
    cross[(hertz < LOW_HZ) | (hertz > HIGH_HZ)] = 0
    alike = irfft(cross / np.maximum(np.abs(cross), QUIET), size)
    near = np.concatenate([alike[-reach:], alike[: reach + 1]])
    return int(np.argmax(near)) - reach
