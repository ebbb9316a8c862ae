"""A room that changes while it is listened to: somebody walks past, a door, a microphone moved.

The response is solved again in parts of five seconds, half over one another, each held to the
response of the whole stretch the more, the more noise there is beside the bleed.  Whether the room
changed at all is told by parts that share no sound: what is new in one must be new in the next.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.bleed.piece import Piece
from rhythmtrain.hearing.bleed.room import Inputs, inputs_of, predicted, response, usual_power

PART_S = 5.0
STEPS, AGAIN = 6, 2
CHANGE = 0.003
# Rooms that change agree by 0.4 and more, rooms that do not by 0.11 at most (measured on the half
# "tune" of tests/simulate/rooms.py).
LEAST_ALIKE = 0.2
QUIET = 1e-12


@dataclass(frozen=True, slots=True)
class _Part:
    """Frames ``low`` to ``high``, of a part that would begin at ``begin``; ``early`` feeds it."""

    begin: int
    early: int
    low: int
    high: int


def changed(piece: Piece, signals: Sequence[Sound], rooms: Sound) -> Sound | None:
    """Return the bleed of ``signals`` behind a room that changes, None where it does not.

    ``rooms``, shape (signals, taps), are the responses of the whole stretch.
    """
    left = piece.heard - predicted(inputs_of(signals, piece.rate), rooms)
    parts = _parts(len(left), round(PART_S / 2 * piece.rate), rooms.shape[1])
    inputs = [
        inputs_of([each[part.early : part.high] for each in signals], piece.rate) for part in parts
    ]
    found = _solved(piece, left, parts, inputs, [rooms] * len(parts))
    if _alike(found) < LEAST_ALIKE:
        return None
    for _ in range(AGAIN):
        left = piece.heard - _faded(parts, inputs, found)
        found = _solved(piece, left, parts, inputs, found)
    return _faded(parts, inputs, found)


def _solved(
    piece: Piece,
    left: Sound,
    parts: Sequence[_Part],
    inputs: Sequence[Inputs],
    rooms: Sequence[Sound],
) -> list[Sound]:
    """Return the responses of ``parts``, from and held to ``rooms`` of which ``left`` is left."""
    weights = piece.trusted(left)
    noise = usual_power(left, piece.rate)
    load = noise * rooms[0].shape[1] / max(CHANGE * float(np.sum(rooms[0] ** 2)), QUIET)
    found = []
    for part, own, room in zip(parts, inputs, rooms, strict=True):
        sure = weights[part.early : part.high].copy()
        sure[: part.low - part.early] = 0
        heard = piece.heard[part.early : part.high]
        found.append(response(own, heard, sure, start=room, steps=STEPS, load=load))
    return found


def _parts(count: int, half: int, taps: int) -> list[_Part]:
    """Return parts of twice ``half`` frames, half over one another, to the end of ``count``."""
    spans = [
        (begin, max(begin, 0), min(begin + 2 * half, count)) for begin in range(-half, count, half)
    ]
    return [_Part(begin, max(low - taps, 0), low, high) for begin, low, high in spans]


def _alike(rooms: Sequence[Sound]) -> float:
    """Return how alike parts that share no sound are in what is their own, -1 to 1."""
    usual = sum(room[0] for room in rooms) / len(rooms)
    away = [room[0] - usual for room in rooms]
    pairs = list(zip(away, away[2:], strict=False))
    like = sum(float(np.dot(one, other)) for one, other in pairs)
    size = sum(float(np.linalg.norm(one) * np.linalg.norm(other)) for one, other in pairs)
    return like / max(size, QUIET)


def _faded(parts: Sequence[_Part], inputs: Sequence[Inputs], rooms: Sequence[Sound]) -> Sound:
    """Return the bleed of all parts, each fading into the next."""
    fade = np.hanning(1 - 2 * parts[0].begin)[:-1].astype(np.float32)
    total = np.zeros(parts[-1].high, np.float32)
    for part, own, room in zip(parts, inputs, rooms, strict=True):
        bleed = predicted(own, room)[part.low - part.early :]
        total[part.low : part.high] += bleed * fade[part.low - part.begin : part.high - part.begin]
    return total
