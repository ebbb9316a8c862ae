"""The bleed of one stretch: what moves is asked for first, and then the room is solved for good.

Three things may move: the microphone (``sway``), the loudspeaker's gain (``loudspeaker``), the room.
Each is believed only where two parts of the evidence agree that share no sound, because what may
bend freely bends to noise and claps as well: thirds of an octave for the first two, parts of time
that do not overlap for the room.  Then room and cube of the track (a driven loudspeaker adds odd
powers of its signal) are solved behind a filter that makes even what is left (``whitening``).
"""

from dataclasses import dataclass, replace

import numpy as np

from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.bleed.loudspeaker import Driven, driven_by, moves, steady
from rhythmtrain.hearing.bleed.parts import changed
from rhythmtrain.hearing.bleed.piece import Piece
from rhythmtrain.hearing.bleed.room import Inputs, inputs_of, predicted, response, with_cube
from rhythmtrain.hearing.bleed.sway import lateness, later, sways
from rhythmtrain.hearing.bleed.whitening import FLAT, Filter, coloured, whitened, whitener

SWAY_PASSES, SWAY_STEPS = 4, 8
WHITE_PASSES, WHITE_STEPS = 2, 20
# Shorter sounds tell too little for two responses.
CUBE_LEAST_S = 8.0
QUIET = 1e-12


@dataclass(frozen=True, slots=True, eq=False)
class Solved:
    """The bleed of a stretch, shape (n,), and what the room is like where nothing moves.

    ``rooms``, shape (2, taps), are the responses to the track and to its cube, which is ``highest``
    where the track is.
    """

    bleed: Sound
    rooms: Sound
    highest: float


def solved(piece: Piece, sound: Sound, room: Sound | None) -> Solved:
    """Return the bleed that ``sound``, the track laid along ``piece``, gives in it.

    ``room``, shape (1, taps), is where to begin.
    """
    if room is None:
        room = np.zeros((1, inputs_of([sound], piece.rate).taps), np.float32)
    still, room, late = _stilled(piece, sound, room)
    driven = _played(still, sound, room)
    found = _behind_the_room(still, driven)
    if driven.over.any():
        found = replace(found, rooms=np.concatenate([room, np.zeros_like(room)]))
    return found if late is None else replace(found, bleed=later(found.bleed, late))


def _stilled(piece: Piece, sound: Sound, room: Sound) -> tuple[Piece, Sound, Sound | None]:
    """Return the stretch as a microphone at rest hears it, its room, and what was taken away."""
    inputs = inputs_of([sound], piece.rate)
    bleed = predicted(inputs, room)
    if not sways(piece.heard, bleed, piece.weights(bleed), piece.rate):
        return piece, room, None
    still, late = piece, np.zeros_like(sound)
    for _ in range(SWAY_PASSES):
        late += lateness(still.heard, bleed, still.weights(bleed), piece.rate)
        still = replace(piece, heard=later(piece.heard, -late))
        room = response(inputs, still.heard, still.weights(bleed), start=room, steps=SWAY_STEPS)
        bleed = predicted(inputs, room)
    return still, room, late


def _played(piece: Piece, sound: Sound, room: Sound) -> Driven:
    """Return the track as the loudspeaker played it, with a gain where that moves."""
    driven = steady(sound, room, piece.rate)
    bleed = driven.bleed
    white = whitener(piece.heard - bleed, piece.weights(bleed))
    even = replace(driven, room=whitened(room, white))
    heard = whitened(piece.heard, white)
    if not moves(even, heard, piece.trusted(heard - even.bleed)):
        return driven
    return driven_by(driven, piece.heard, piece.lead)


def _behind_the_room(piece: Piece, driven: Driven) -> Solved:
    """Return the bleed of what was played, behind a room that may change."""
    highest = max(float(np.abs(driven.played).max()), QUIET)
    sound, cube = with_cube(driven.played, highest)
    # Room and cube are found sooner when they share no sound.
    share = np.float32(np.dot(cube, sound) / max(float(np.dot(sound, sound)), QUIET))
    signals = [sound, cube - share * sound]
    if len(sound) < CUBE_LEAST_S * piece.rate:
        signals = signals[:1]
    inputs = inputs_of(signals, piece.rate)
    rooms, white = np.zeros((len(signals), inputs.taps), np.float32), FLAT
    rooms[0] = driven.room[0]
    for _ in range(WHITE_PASSES):
        rooms, white = _evenly(piece, inputs, rooms)
    even = replace(piece, heard=whitened(piece.heard, white))
    moved = changed(even, signals, whitened(rooms, white))
    bleed = predicted(inputs, rooms) if moved is None else coloured(moved, white)
    plain = np.zeros((2, inputs.taps), np.float32)
    plain[: len(rooms)] = rooms
    plain[0] -= share * plain[1]
    return Solved(bleed, plain, highest)


def _evenly(piece: Piece, inputs: Inputs, rooms: Sound) -> tuple[Sound, Filter]:
    """Return the responses, solved behind the filter that makes even what ``rooms`` leave."""
    bleed = predicted(inputs, rooms)
    white = whitener(piece.heard - bleed, piece.weights(bleed))
    heard, even = whitened(piece.heard, white), whitened(rooms, white)
    weights = piece.trusted(heard - predicted(inputs, even))
    return coloured(response(inputs, heard, weights, start=even, steps=WHITE_STEPS), white), white
