"""Blown notes of known length: stopped, dying away, leading on, in a room and in noise.

A note is a harmonic tone with a swell and vibrato; stopped by the tongue it falls within 30 to 90 ms,
dying away it sinks evenly by 30 dB over its second half, and what leads on changes pitch without a gap.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

RATE = 22_050
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Line:
    """A line of notes: the sound, when each begins and how long it is, and how it ends."""

    sound: NDArray[np.float32]
    onsets_s: tuple[float, ...]
    lengths_s: tuple[float, ...]
    endings: tuple[str, ...]


def line(seed: int, *, notes: int = 12, echo_s: float = 0.3, noise_db: float = -55.0) -> Line:
    """Return a line of notes from ``seed``; ``echo_s`` is how long the room falls by 60 dB."""
    rng = np.random.default_rng(seed)
    gaps = rng.uniform(0.3, 0.9, notes)
    lengths = rng.uniform(0.35, 2.0, notes)
    endings = tuple(
        str(each) for each in rng.choice(["stopped", "dying", "on"], notes, p=(0.6, 0.2, 0.2))
    )
    lengths = np.where([each == "dying" for each in endings], 0.9 + 0.8 * lengths, lengths)
    starts, at = [], 0.4
    for length, gap, ending in zip(lengths, gaps, endings, strict=True):
        starts.append(at)
        at += length + (0.0 if ending == "on" else gap)
    dry = np.zeros(round((at + 1.0) * RATE))
    for start, length, ending in zip(starts, lengths, endings, strict=True):
        tone = _tone(rng, float(length), ending)
        place = round(start * RATE)
        dry[place : place + len(tone)] += tone[: len(dry) - place]
    wet = _in_room(rng, dry, echo_s)
    wet += 10 ** (noise_db / 20) * rng.standard_normal(len(wet))
    return Line(
        (0.5 * wet / np.abs(wet).max()).astype(np.float32),
        tuple(float(start) for start in starts),
        tuple(float(length) for length in lengths),
        endings,
    )


def _tone(rng: np.random.Generator, length_s: float, ending: str) -> Floats:
    """Return one note; its release lies after its length, but for one that dies away before it."""
    release_s = rng.uniform(0.03, 0.09)
    t = np.arange(round((length_s + release_s) * RATE)) / RATE
    pitch = rng.uniform(180, 700) * (1 + 0.004 * np.sin(2 * np.pi * rng.uniform(4.5, 6) * t))
    phase = 2 * np.pi * np.cumsum(pitch) / RATE
    tone = sum(np.sin(k * phase) / k ** rng.uniform(1, 1.6) for k in range(1, 7))
    swell = 1 + rng.uniform(-0.3, 0.3) * np.sin(np.pi * np.minimum(t / length_s, 1))
    shape = np.minimum(t / rng.uniform(0.02, 0.06), 1) * swell
    if ending == "dying":
        shape *= 10 ** (-30 / 20 * np.clip(2 * t / length_s - 1, 0, None))
    after = np.clip((length_s + release_s - t) / release_s, 0, 1)
    whole: Floats = tone * shape * after**2
    return whole


def _in_room(rng: np.random.Generator, dry: Floats, echo_s: float) -> Floats:
    if not echo_s:
        return dry
    t = np.arange(round(echo_s * RATE)) / RATE
    tail = rng.standard_normal(len(t)) * 10 ** (-3 * t / echo_s)
    tail *= 0.5 / np.sqrt(np.sum(tail**2))
    tail[0] = 1.0
    size = len(dry) + len(tail)
    wet: Floats = np.fft.irfft(np.fft.rfft(dry, size) * np.fft.rfft(tail, size), size)[: len(dry)]
    return wet
