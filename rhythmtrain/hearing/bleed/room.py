"""The way from loudspeaker to microphone: a response of 0.32 s, found from the track itself.

The response is the least-squares answer to "what, convolved with the track, is nearest to the
recording", by conjugate gradients (Hestenes and Stiefel 1952) in which every product with the
track's matrix is an FFT over overlapping blocks, preconditioned by the track's own spectrum.
Samples are weighted: by nothing at first, then by one over the power of what was left near them,
so that claps do not count.  A driven loudspeaker adds odd powers of its signal: the cube and fifth
power may be fitted beside it, each with a response of its own.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.fft import irfft, next_fast_len, rfft
from scipy.ndimage import uniform_filter1d

from rhythmtrain.hearing.bleed.correlation import Sound

RESPONSE_S = 0.32
AHEAD_S = 0.003
BLOCK_S = 1.5
RIDGE = 1e-4
STEPS = 10
LEVEL_S = 0.010
LEAST_POWER = 1e-12

Spectra = NDArray[np.complex64]


@dataclass(frozen=True, slots=True, eq=False)
class Inputs:
    """Signals cut into overlapping blocks: spectra, shape (signals, blocks, bins)."""

    spectra: Spectra
    size: int
    taps: int
    count: int

    @property
    def hop(self) -> int:
        """Return how many samples of output each block gives."""
        return self.size - self.taps + 1


def inputs_of(signals: Sequence[Sound], rate: int, *, response_s: float = RESPONSE_S) -> Inputs:
    """Return ``signals``, each of shape (n,), ready to be convolved with a response."""
    taps = round(response_s * rate)
    size = next_fast_len(taps + round(BLOCK_S * rate), real=True)
    count = len(signals[0])
    hop = size - taps + 1
    blocks = -(-count // hop)
    spectra = np.empty((len(signals), blocks, size // 2 + 1), np.complex64)
    for row, signal in zip(spectra, signals, strict=True):
        padded = np.zeros(blocks * hop + taps - 1, np.float32)
        padded[taps - 1 : taps - 1 + count] = signal
        for block in range(blocks):
            row[block] = rfft(padded[block * hop : block * hop + size])
    return Inputs(spectra, size, taps, count)


def predicted(inputs: Inputs, responses: Sound) -> Sound:
    """Return the signals through ``responses``, shape (signals, taps), added up: shape (n,)."""
    gains = rfft(responses, inputs.size, axis=1)
    rows = [
        irfft((block * gains).sum(axis=0), inputs.size)[inputs.taps - 1 :]
        for block in inputs.spectra.swapaxes(0, 1)
    ]
    sound: Sound = np.concatenate(rows)[: inputs.count]
    return sound


def adjoint(inputs: Inputs, sound: Sound) -> Sound:
    """Return the product of the transposed matrix of the signals with ``sound``."""
    hop, taps = inputs.hop, inputs.taps
    total = np.zeros((inputs.spectra.shape[0], inputs.spectra.shape[2]), np.complex64)
    for block in range(inputs.spectra.shape[1]):
        piece = np.zeros(inputs.size, np.float32)
        part = sound[block * hop : (block + 1) * hop]
        piece[taps - 1 : taps - 1 + len(part)] = part
        total += np.conj(inputs.spectra[:, block]) * rfft(piece)
    found: Sound = irfft(total, inputs.size, axis=1)[:, :taps]
    return found


def response(
    inputs: Inputs,
    heard: Sound,
    weights: Sound,
    *,
    start: Sound | None = None,
    steps: int = STEPS,
    load: float = 0.0,
) -> Sound:
    """Return the responses, shape (signals, taps), that bring the signals nearest to ``heard``.

    ``weights``, shape (n,), say how much each sample counts.  ``start`` is where to begin, and
    what a ridge holds the answer to: ``load`` is its weight, beside a trifle for what is not heard.
    """
    first = np.zeros((len(inputs.spectra), inputs.taps), np.float32) if start is None else start
    power = np.square(np.abs(inputs.spectra)).sum(axis=1) * float(weights.mean())
    held = RIDGE * power.mean(axis=1)[:, None] + load + LEAST_POWER
    scale = 1 / (power * (inputs.hop / inputs.size) + held)

    def ease(gradient: Sound) -> Sound:
        eased: Sound = irfft(rfft(gradient, inputs.size, axis=1) * scale, inputs.size, axis=1)
        return eased[:, : inputs.taps]

    answer = np.zeros_like(first)
    left = adjoint(inputs, weights * (heard - predicted(inputs, first)))
    eased = ease(left)
    way, size = eased, float(np.vdot(left, eased))
    for _ in range(steps):
        if size <= LEAST_POWER:
            break
        along = adjoint(inputs, weights * predicted(inputs, way)) + held * way
        share = size / max(float(np.vdot(way, along)), LEAST_POWER)
        answer += share * way
        left -= share * along
        eased = ease(left)
        after = float(np.vdot(left, eased))
        way, size = eased + (after / size) * way, after
    solved: Sound = (first + answer).astype(np.float32)
    return solved


def with_cube(sound: Sound, highest: float) -> tuple[Sound, Sound]:
    """Return ``sound``, and its cube so that both are ``highest`` at the same sample."""
    cube: Sound = (highest * (sound / highest) ** 3).astype(np.float32)
    return sound, cube


def trust(left: Sound, rate: int) -> Sound:
    """Return weights, of mean about 1: one over the power of what is ``left`` within 10 ms."""
    power = _power(left, rate)
    usual = max(float(np.median(power)), LEAST_POWER)
    weights: Sound = (usual / (power + usual)).astype(np.float32)
    return weights


def usual_power(left: Sound, rate: int) -> float:
    """Return the median over time of the power of what is ``left`` within 10 ms."""
    return float(np.median(_power(left, rate)))


def _power(left: Sound, rate: int) -> Sound:
    width = max(3, round(LEVEL_S * rate))
    power: Sound = uniform_filter1d(np.square(left), width, mode="nearest")
    return power
