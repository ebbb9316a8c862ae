"""Taking a loudspeaker out of what a microphone heard, when it is known what was played.

In stretches of half a minute: the delay and the two clocks (``delay``), the response of the room by
weighted passes that mend the clocks as they go (``room``, ``skew``), then what moves and the room
for good (``stretch``), and gains that move in bands (``gain``).  What remains is the
player, the noise, and a little of the bleed, of which it is told how much to expect in each band.

Each stretch begins with the response of the last, so a room that changes slowly is followed and
the memory needed is that of one stretch.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.bleed.delay import SoundDelay
from rhythmtrain.hearing.bleed.gain import gained
from rhythmtrain.hearing.bleed.piece import Piece
from rhythmtrain.hearing.bleed.room import RESPONSE_S, inputs_of, predicted, response
from rhythmtrain.hearing.bleed.skew import drift_left
from rhythmtrain.hearing.bleed.stretch import solved

STRETCH_S = 30.0
LEAST_S = 3.0
LEAST_PASSES, MOST_PASSES = 3, 8
SETTLED_S = 1e-6
MOST_PACE = 2.5
STEPS = 8
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


def _followed(
    piece: Piece, delay: SoundDelay, start: Sound | None
) -> tuple[SoundDelay, Sound | None]:
    """Return delay and response, the room solved and the clocks mended pass after pass.

    In a short stretch the room bends to clocks that are wrong, so that each pass tells only a part
    of what is left: passes that follow one another say which part.
    """
    weights = piece.weights(None)
    before = 0.0
    for number in range(1, MOST_PASSES + 1):
        inputs = inputs_of([piece.laid(delay)], piece.rate)
        start = response(inputs, piece.heard, weights, start=start, steps=STEPS)
        bleed = predicted(inputs, start)
        weights = piece.weights(bleed)
        drift = drift_left(piece.heard, bleed, weights, piece.rate)
        delay = _mended(delay, drift, piece, pace=_pace(before, drift[0][1]))
        before = drift[0][1]
        moved_s = abs(before) * len(piece.heard) / piece.rate
        if number >= LEAST_PASSES and moved_s < SETTLED_S:
            break
    return delay, start


def _pace(before: float, now: float) -> float:
    """Return by how much to stretch a slope told ``now``, when one was told ``before`` it."""
    told = 1 - now / before if before else 1.0
    return MOST_PACE if told <= 1 / MOST_PACE else min(max(1 / told, 1.0), MOST_PACE)


def _mended(
    delay: SoundDelay,
    drift: tuple[tuple[float, float], tuple[float, float]],
    piece: Piece,
    *,
    pace: float,
) -> SoundDelay:
    """Return ``delay`` with what was left between the clocks, counted from the track's start.

    The slope is taken ``pace`` times about the middle of the stretch.
    """
    (late_s, slope), (_, slope_error) = drift
    late_s -= (pace - 1) * slope * len(piece.heard) / piece.rate / 2
    slope *= pace
    return replace(
        delay,
        delay_s=delay.delay_s + late_s - slope * piece.begin / piece.rate,
        skew_ppm=delay.skew_ppm + 1e6 * slope,
        skew_error_ppm=min(delay.skew_error_ppm, 1e6 * slope_error),
    )


def _taken_out(piece: Piece, delay: SoundDelay, start: Sound | None) -> Cleared:
    """Return the stretch without its bleed: what moves, room, cube and gains."""
    found = solved(piece, piece.laid(delay), start)
    fitted = gained(piece.heard, found.bleed, piece.rate)
    bleed, leftover = fitted.bleed[piece.lead :], fitted.leftover[piece.lead :]
    return Cleared(
        piece.begin + piece.lead,
        piece.heard[piece.lead :] - bleed,
        bleed,
        leftover,
        delay,
        removal_db(bleed, leftover),
        found.rooms,
        found.highest,
    )


def removal_db(bleed: Sound, leftover: Sound) -> float:
    """Return by how many dB ``leftover`` is softer than ``bleed``."""
    return ratio_db(energy(bleed), energy(leftover))


def energy(sound: Sound) -> float:
    """Return the sum of the squares of ``sound``."""
    return float(np.sum(np.square(sound, dtype=np.float64)))


def ratio_db(before: float, after: float) -> float:
    """Return by how many dB the energy ``after`` lies under ``before``."""
    return 10 * float(np.log10(max(before, QUIET) / max(after, QUIET)))
