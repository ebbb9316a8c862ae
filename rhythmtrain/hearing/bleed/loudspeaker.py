"""A loudspeaker whose gain moves: a compressor, a limiter, a hand on the volume.

Such a gain acts before the room, so it cannot be told from the room one window at a time: the
tail of a loud word sounds on with the gain of that word.  Gain and room are therefore found
together, as the least-squares answer to "what gain of the track, convolved with what response, is
nearest to the recording".  The gain is a broken line with a knot every 2 ms; each knot is held to
the one before, loosely where the track has just become louder or softer (there a compressor moves)
and tightly where not.  Each round makes the product linear about the last answer and solves both by
conjugate gradients (Hestenes and Stiefel 1952).

A room that changes or a microphone that moves is no gain, but a free gain would bend to them as
well.  So it is first asked whether there is one: it is solved from every other third of an octave
and held against the others.  Gains are the same for both; accidents are not.
"""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft
from scipy.linalg import solveh_banded
from scipy.ndimage import maximum_filter1d, uniform_filter1d

from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.bleed.room import (
    LEAST_POWER,
    RIDGE,
    Inputs,
    adjoint,
    inputs_of,
    predicted,
    trust,
    usual_power,
)

KNOT_S = 0.002
CALM, LIVELY, LIVELY_FROM = 0.005, 0.3, 1 / 3
LIVELY_S = 0.024
ROUNDS, STEPS, ASKED_STEPS = 2, 20, 12
BANDS_AN_OCTAVE, LOWEST_HZ, EDGE = 3, 50.0, 4.0
# Gains that are there explain 0.65 or more of what they claim, accidents 0.25 at most (measured on
# the half "tune" of tests/simulate/rooms.py).
LEAST_AGREED = 0.45

Knots = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Driven:
    """A track with a gain at each knot, and the response, shape (1, taps), it is heard through.

    Attributes:
        sound: The track as the recording's clock has it, shape (n,).
        over: The gain less 1 at each knot.
        room: The response.
        rate: Samples a second.
    """

    sound: Sound
    over: Knots
    room: Sound
    rate: int

    @property
    def step(self) -> int:
        """Return how many samples lie between two knots."""
        return round(KNOT_S * self.rate)

    def line(self, over: Knots) -> Sound:
        """Return ``over`` at every sample."""
        at = np.arange(len(self.sound)) / self.step
        line: Sound = np.interp(at, np.arange(len(over)), over).astype(np.float32)
        return line

    def knots(self, sound: Sound) -> Knots:
        """Return the product of the transposed matrix of ``line`` with ``sound``."""
        rows = np.zeros((len(self.over), self.step), np.float32)
        rows.ravel()[: len(sound)] = sound
        part = (np.arange(self.step) / self.step).astype(np.float32)
        total = (rows @ (1 - part)).astype(np.float64)
        total[1:] += (rows @ part)[:-1]
        return total

    @property
    def played(self) -> Sound:
        """Return the track with its gain."""
        played: Sound = self.sound * (1 + self.line(self.over))
        return played

    @property
    def bleed(self) -> Sound:
        """Return what is heard of it."""
        return predicted(inputs_of([self.played], self.rate), self.room)


def steady(sound: Sound, room: Sound, rate: int) -> Driven:
    """Return ``sound`` with a gain of 1, heard through ``room``."""
    knots = len(sound) // round(KNOT_S * rate) + 2
    return Driven(sound, np.zeros(knots), room, rate)


def moves(driven: Driven, heard: Sound, weights: Sound) -> bool:
    """Return whether the loudspeaker's gain moves: told the same by both halves of the spectrum."""
    count = len(heard)
    usual = usual_power(heard - driven.bleed, driven.rate) / 2
    halves = [
        (replace(driven, room=every_other_third(driven.room[0], driven.rate, odd=odd)[None]), half)
        for odd, half in (
            (odd, every_other_third(heard, driven.rate, odd=odd)) for odd in (False, True)
        )
    ]
    agreed = []
    for (asked, own), (other, rest) in zip(halves, halves[::-1], strict=True):
        found = _round(asked, own, weights, usual=usual, steps=ASKED_STEPS, room_too=False)
        claimed = replace(other, over=found.over).bleed - other.bleed
        true = float(np.dot(weights * (rest - other.bleed), claimed))
        agreed.append(true / max(float(np.dot(weights * claimed, claimed)), LEAST_POWER * count))
    return min(agreed) > LEAST_AGREED


def driven_by(driven: Driven, heard: Sound, silent: int) -> Driven:
    """Return gain and room that bring ``driven`` nearest to ``heard``, shape (n,).

    The first ``silent`` samples do not count.
    """
    for _ in range(ROUNDS):
        left = heard - driven.bleed
        weights = trust(left, driven.rate)
        weights[:silent] = 0
        usual = usual_power(left, driven.rate)
        driven = _round(driven, heard, weights, usual=usual, steps=STEPS, room_too=True)
    return driven


def _round(
    driven: Driven, heard: Sound, weights: Sound, *, usual: float, steps: int, room_too: bool
) -> Driven:
    """Return ``driven`` after one round: gain, and room if asked, by conjugate gradients."""
    played = inputs_of([driven.played], driven.rate)
    loose = usual / _restless(driven) ** 2
    easing = _Easing(driven, played, weights, usual=usual, loose=loose, room_too=room_too)
    over, room = np.zeros_like(driven.over), np.zeros_like(driven.room)

    def back(sound: Sound, at: Knots, echoes: Sound) -> tuple[Knots, Sound]:
        turned = inputs_of([sound[::-1]], driven.rate)
        along = driven.sound * predicted(turned, driven.room)[::-1]
        return driven.knots(along) + at, adjoint(played, sound) + echoes

    left = back(weights * (heard - predicted(played, driven.room)), -easing.held(driven.over), room)
    eased = easing(*left)
    way, size = eased, _dot(left, eased)
    for _ in range(steps):
        if size <= LEAST_POWER:
            break
        moved = inputs_of([driven.sound * driven.line(way[0])], driven.rate)
        both = replace(moved, spectra=np.concatenate([moved.spectra, played.spectra]))
        ahead = predicted(both, np.concatenate([driven.room, way[1]]))
        along = back(weights * ahead, easing.held(way[0]), easing.ridge * way[1])
        share = size / max(_dot(way, along), LEAST_POWER)
        over, room = over + share * way[0], room + share * way[1]
        left = (left[0] - share * along[0], left[1] - share * along[1])
        eased = easing(*left)
        after = _dot(left, eased)
        way = (eased[0] + after / size * way[0], eased[1] + (after / size) * way[1])
        size = after
    solved = (driven.room + room).astype(np.float32)
    return replace(driven, over=driven.over + over, room=solved)


def _dot(one: tuple[Knots, Sound], other: tuple[Knots, Sound]) -> float:
    return float(np.dot(one[0], other[0]) + np.vdot(one[1], other[1]))


class _Easing:
    """What makes the rounds short: the matrix without what ties gain and room together, inverted."""

    def __init__(
        self,
        driven: Driven,
        played: Inputs,
        weights: Sound,
        *,
        usual: float,
        loose: Knots,
        room_too: bool,
    ) -> None:
        self._played, self._room_too = played, room_too
        self._usual, self._loose = usual, loose
        near = driven.sound**2 * uniform_filter1d(weights, 2 * driven.step)
        force = driven.knots(near) * float(np.sum(driven.room**2)) / 1.5
        self._bands = np.zeros((2, len(force)))
        self._bands[1] = force + usual + np.append(loose, 0) + np.append(0, loose)
        self._bands[0, 1:] = -loose
        power = np.square(np.abs(played.spectra)).sum(axis=1) * float(weights.mean())
        self.ridge = RIDGE * power.mean(axis=1)[:, None] + LEAST_POWER
        self._scale = 1 / (power * (played.hop / played.size) + self.ridge)

    def held(self, over: Knots) -> Knots:
        """Return the pull of the knots on one another, and to 1."""
        pull = self._loose * np.diff(over)
        held: Knots = self._usual * over + np.append(0, pull) - np.append(pull, 0)
        return held

    def __call__(self, over: Knots, room: Sound) -> tuple[Knots, Sound]:
        """Return gain and room eased."""
        gain = solveh_banded(self._bands, over)
        if not self._room_too:
            return gain, np.zeros_like(room)
        size = self._played.size
        echoes = irfft(rfft(room, size, axis=1) * self._scale, size, axis=1)
        return gain, echoes[:, : self._played.taps]


def _restless(driven: Driven) -> Knots:
    """Return how far the gain may move from each knot to the next: further after the level moved."""
    level = np.sqrt(np.maximum(uniform_filter1d(driven.sound**2, driven.step), 0))
    levels = np.zeros(len(driven.over))
    heard = level[:: driven.step]
    levels[: len(heard)] = heard
    moved = np.abs(np.diff(levels)) / max(float(levels.max()), LEAST_POWER)
    width = round(LIVELY_S / KNOT_S)
    held = maximum_filter1d(moved, width, origin=(width - 1) // 2)
    restless: Knots = CALM + LIVELY * np.minimum(1, held / LIVELY_FROM)
    return restless


def every_other_third(sound: Sound, rate: int, *, odd: bool) -> Sound:
    """Return every other third of an octave of ``sound``; the odd and the others add up to it."""
    size = next_fast_len(len(sound) + rate // 10, real=True)
    spectrum = rfft(sound, size)
    hertz = np.maximum(np.arange(len(spectrum)) * (rate / size), LOWEST_HZ)
    turn = np.pi * BANDS_AN_OCTAVE * np.log2(hertz / LOWEST_HZ)
    share = 0.5 + 0.5 * np.tanh((EDGE if odd else -EDGE) * np.sin(turn))
    half: Sound = irfft(spectrum * share, size)[: len(sound)].astype(np.float32)
    return half
