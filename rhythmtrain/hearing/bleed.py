"""Taking a loudspeaker out of what a microphone heard, when it is known what was played.

In stretches of half a minute: the delay and the two clocks (``delay``), the response of the room by
weighted passes that mend the clocks as they go (``room``, ``skew``), the cube of the track beside
it for a driven loudspeaker, and gains that move (``bleed_gain``).  What remains is the player, the
noise, and a little of the bleed, of which it is told how much to expect in each band.

Each stretch begins with the response of the last, so a room that changes slowly is followed and
the memory needed is that of one stretch.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from rhythmtrain.hearing.bleed_gain import gained
from rhythmtrain.hearing.delay import Sound, SoundDelay
from rhythmtrain.hearing.room import (
    AHEAD_S,
    RESPONSE_S,
    inputs_of,
    predicted,
    response,
    trust,
    usual_power,
)
from rhythmtrain.hearing.skew import drift_left, warped

STRETCH_S = 30.0
LEAST_S = 3.0
LEAST_PASSES, MOST_PASSES = 3, 8
SETTLED_S = 1e-6
STEPS = 8
CUBE_PASSES = 1
PART_S = 5.0
PART_STEPS = 5
CHANGE = 0.003
QUIET = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class Cleared:
    """A stretch of the recording from frame ``first`` on, without the loudspeaker.

    Attributes:
        first: Its first frame in the recording.
        left: What is left when the bleed is taken out, shape (n,).
        bleed: The bleed that was taken out, shape (n,).
        leftover: A sound about as loud, band by band, as the bleed that is still in ``left``.
        delay: How late the track is heard in it.
        removal_db: By how much the bleed is softer than it was.
        rooms: Responses to the track and to its cube, shape (2, taps),
        highest: and the sample at which the cube is as high as the track.
    """

    first: int
    left: Sound
    bleed: Sound
    leftover: Sound
    delay: SoundDelay
    removal_db: float
    rooms: Sound
    highest: float


def cleared(heard: Sound, track: Sound, rate: int, delay: SoundDelay) -> Iterator[Cleared]:
    """Yield stretch after stretch of ``heard``, shape (n,), without ``track``, shape (m,).

    Both begin at the same frame; ``delay`` is what was measured between them.
    """
    start: Sound | None = None
    for first, stop in stretches(len(heard), rate):
        begin = max(0, first - round(RESPONSE_S * rate))
        piece = Piece(begin, first - begin, heard[begin:stop], track, rate)
        delay, start = _followed(piece, delay, start)
        yield _taken_out(piece, delay, start)


def stretches(count: int, rate: int) -> list[tuple[int, int]]:
    """Return (first, stop) frames of stretches; a rest too short to be solved joins the last."""
    length = round(STRETCH_S * rate)
    firsts = list(range(0, count, length)) or [0]
    if len(firsts) > 1 and count - firsts[-1] < LEAST_S * rate:
        firsts.pop()
    return list(zip(firsts, [*firsts[1:], count], strict=True))


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """A stretch from frame ``begin``: its first ``lead`` frames belong to the stretch before."""

    begin: int
    lead: int
    heard: Sound
    track: Sound
    rate: int

    def laid(self, delay: SoundDelay) -> Sound:
        """Return the track on the clock of the recording, a little early."""
        frames = (self.begin, self.begin + len(self.heard))
        ahead_s = delay.delay_s - AHEAD_S
        return warped(self.track, frames, self.rate, delay_s=ahead_s, skew_ppm=delay.skew_ppm)

    def weights(self, bleed: Sound | None) -> Sound:
        """Return how far each sample is to be trusted, once ``bleed`` was predicted."""
        if bleed is None:
            weights = np.ones(len(self.heard), np.float32)
        else:
            weights = trust(self.heard - bleed, self.rate)
        weights[: self.lead] = 0
        return weights


def _followed(
    piece: Piece, delay: SoundDelay, start: Sound | None
) -> tuple[SoundDelay, Sound | None]:
    """Return delay and response, the room solved and the clocks mended pass after pass."""
    weights = piece.weights(None)
    for number in range(1, MOST_PASSES + 1):
        inputs = inputs_of([piece.laid(delay)], piece.rate)
        start = response(inputs, piece.heard, weights, start=start, steps=STEPS)
        bleed = predicted(inputs, start)
        weights = piece.weights(bleed)
        drift = drift_left(piece.heard, bleed, weights, piece.rate)
        delay = _mended(delay, drift, piece)
        moved_s = abs(drift[0][1]) * len(piece.heard) / piece.rate
        if number >= LEAST_PASSES and moved_s < SETTLED_S:
            break
    return delay, start


def _mended(
    delay: SoundDelay,
    drift: tuple[tuple[float, float], tuple[float, float]],
    piece: Piece,
) -> SoundDelay:
    """Return ``delay`` with what was left between the clocks, counted from the track's start."""
    (late_s, slope), (_, slope_error) = drift
    return replace(
        delay,
        delay_s=delay.delay_s + late_s - slope * piece.begin / piece.rate,
        skew_ppm=delay.skew_ppm + 1e6 * slope,
        skew_error_ppm=min(delay.skew_error_ppm, 1e6 * slope_error),
    )


def _taken_out(piece: Piece, delay: SoundDelay, start: Sound | None) -> Cleared:
    """Return the stretch without its bleed: room, cube and gains."""
    sound = piece.laid(delay)
    highest = max(float(np.abs(sound).max()), QUIET)
    signals = with_cube(sound, highest)
    inputs = inputs_of(signals, piece.rate)
    rooms = np.zeros((2, inputs.taps), np.float32)
    if start is not None:
        rooms[:1] = start
    for _ in range(CUBE_PASSES):
        weights = piece.weights(predicted(inputs, rooms))
        rooms = response(inputs, piece.heard, weights, start=rooms, steps=STEPS)
    bleed = predicted(inputs, rooms)
    fitted = gained(piece.heard, _moving(piece, signals, rooms, bleed), piece.rate)
    bleed, leftover = fitted.bleed[piece.lead :], fitted.leftover[piece.lead :]
    left = piece.heard[piece.lead :] - bleed
    softer_db = removal_db(bleed, leftover)
    return Cleared(
        piece.begin + piece.lead, left, bleed, leftover, delay, softer_db, rooms, highest
    )


def with_cube(sound: Sound, highest: float) -> tuple[Sound, Sound]:
    """Return ``sound``, and its cube so that both are ``highest`` at the same sample."""
    cube: Sound = (highest * (sound / highest) ** 3).astype(np.float32)
    return sound, cube


def _moving(piece: Piece, signals: tuple[Sound, ...], rooms: Sound, bleed: Sound) -> Sound:
    """Return the bleed of a room that changes: solved again in short parts that fade over.

    Each part is held to ``rooms`` the more, the more noise there is beside the bleed.
    """
    weights = piece.weights(bleed)
    noise = usual_power(piece.heard - bleed, piece.rate)
    load = noise * rooms.shape[1] / max(CHANGE * float(np.sum(rooms**2)), QUIET)
    half, taps = round(PART_S / 2 * piece.rate), rooms.shape[1]
    fade = np.hanning(2 * half + 1)[:-1].astype(np.float32)
    count = len(piece.heard)
    moved = np.zeros(count, np.float32)
    for begin in range(-half, count, half):
        low, high = max(begin, 0), min(begin + 2 * half, count)
        early = max(low - taps, 0)
        inputs = inputs_of([each[early:high] for each in signals], piece.rate)
        sure = weights[early:high].copy()
        sure[: low - early] = 0
        found = response(
            inputs, piece.heard[early:high], sure, start=rooms, steps=PART_STEPS, load=load
        )
        moved[low:high] += (
            predicted(inputs, found)[low - early :] * fade[low - begin : high - begin]
        )
    return moved


def removal_db(bleed: Sound, leftover: Sound) -> float:
    """Return by how many dB ``leftover`` is softer than ``bleed``."""
    before, after = (float(np.sum(np.square(each, dtype=np.float64))) for each in (bleed, leftover))
    return 10 * float(np.log10(max(before, QUIET) / max(after, QUIET)))
