"""A piano made from formulas, and the room, noise and applause around it.

A string sounds partials f_n = n f_0 √(1 + B n²) (Fletcher 1964), weighted by where the hammer
strikes, each dying at two rates; a hammer adds a short thud.  Harder strokes are brighter.  The
second instrument, kept for held-out performances, has other slopes, decays and thuds; those after
it are for methods that are to know several.  Notes are
made once for each pitch and mixed at their samples.
"""

from dataclasses import dataclass
from functools import cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, sosfilt

Sound = NDArray[np.float32]
Random = np.random.Generator
RATE = 22_050
LONGEST_S = 4.0


@dataclass(frozen=True, slots=True)
class Instrument:
    """What makes one piano differ from another."""

    slope: float
    bright_slope: float
    decay_s: float
    thud: float
    rise_s: float


INSTRUMENTS = (
    Instrument(1.5, 0.8, 3.0, 0.06, 0.002),
    Instrument(1.1, 0.5, 1.8, 0.12, 0.004),
    Instrument(1.3, 0.65, 2.3, 0.09, 0.003),
    Instrument(1.8, 1.0, 3.5, 0.03, 0.002),
    Instrument(0.9, 0.4, 1.5, 0.15, 0.005),
)
HELD_OUT_PIANO = 1


@cache
def _layers(pitch: int, which: int) -> tuple[Sound, Sound]:
    """Return the soft and the bright sound of a struck string, undamped."""
    made = INSTRUMENTS[which]
    rng = np.random.default_rng(1000 * which + pitch)
    t = np.arange(int(LONGEST_S * RATE)) / RATE
    base = 440 * 2 ** ((pitch - 69) / 12)
    stiffness = 2e-4 * 2 ** ((pitch - 60) / 12)
    decay = made.decay_s * 2 ** (-(pitch - 48) / 18)
    soft, bright = np.zeros(t.size), np.zeros(t.size)
    for n in range(1, 17):
        hertz = n * base * np.sqrt(1 + stiffness * n * n)
        if hertz > 0.45 * RATE:
            break
        dying = decay / (1 + 0.12 * n)
        wave = (0.7 * np.exp(-t / (0.3 * dying)) + 0.3 * np.exp(-t / dying)) * np.sin(
            2 * np.pi * hertz * t + rng.uniform(0, 6.28)
        )
        struck = 0.15 + abs(np.sin(np.pi * n / 7.5))
        soft += struck * n**-made.slope * wave
        bright += struck * n**-made.bright_slope * wave
    thud = sosfilt(butter(2, 900, fs=RATE, output="sos"), rng.standard_normal(t.size))
    thud *= made.thud * np.exp(-t / 0.012) * 8
    rise = np.minimum(1, t / made.rise_s)
    return (
        ((soft + thud) * rise).astype(np.float32),
        ((bright + 2 * thud) * rise).astype(np.float32),
    )


def struck_note(pitch: int, loud: float, length_s: float, which: int) -> Sound:
    """Return one note; ``loud`` runs from 0 to 1, the damper falls after ``length_s``."""
    soft, bright = _layers(pitch, which)
    count = min(int((length_s + 0.3) * RATE), soft.size)
    sound: Sound = ((1 - loud) * soft[:count] + loud * bright[:count]) * np.float32(loud**1.5)
    damped = int(length_s * RATE)
    if damped < count:
        sound[damped:] *= np.exp(-np.arange(count - damped) / (0.07 * RATE)).astype(np.float32)
    return sound


def mixed(
    notes: tuple[NDArray[np.float64], ...], *, length_s: float, which: int, room: Random
) -> Sound:
    """Return the mix of ``notes`` (onsets_s, pitches, loudness, lengths_s) in a small room."""
    sound = np.zeros(int(length_s * RATE), np.float32)
    for onset, pitch, loud, length in zip(*(part.tolist() for part in notes), strict=True):
        note = struck_note(int(pitch), loud, length, which)
        start = round(onset * RATE)
        stop = min(start + note.size, sound.size)
        if stop > start:
            sound[start:stop] += note[: stop - start]
    rt60 = room.uniform(0.3, 0.9)
    t = np.arange(int(rt60 * RATE)) / RATE
    tail = room.standard_normal(t.size) * 10 ** (-3 * t / rt60) * room.uniform(0.01, 0.03)
    tail[0] = 1.0
    wet: Sound = fftconvolve(sound, tail.astype(np.float32))[: sound.size].astype(np.float32)
    return wet / np.float32(np.abs(wet).max() * 1.25)


def hiss(rng: Random, count: int, level_db: float) -> Sound:
    """Return room noise, stronger below, at ``level_db`` rms."""
    noise = sosfilt(butter(1, 800, fs=RATE, output="sos"), rng.standard_normal(count))
    noise *= 10 ** (level_db / 20) / np.sqrt(np.mean(noise**2))
    quiet: Sound = noise.astype(np.float32)
    return quiet


def applause(rng: Random, length_s: float) -> Sound:
    """Return many hands clapping: rising within a second, dying over the last third."""
    count = int(length_s * RATE)
    sound = np.zeros(count + RATE, np.float32)
    n = np.arange(int(0.03 * RATE))
    for start in rng.integers(0, count, int(length_s * rng.uniform(60, 150))).tolist():
        dying = np.exp(-n / (rng.uniform(0.003, 0.008) * RATE))
        ring = np.cos(2 * np.pi * rng.uniform(600, 2500) * n / RATE)
        sound[start : start + n.size] += rng.uniform(0.2, 1) * (
            dying * (0.6 * ring + 0.6 * rng.standard_normal(n.size))
        ).astype(np.float32)
    sound = sound[:count]
    shape = np.minimum(1, np.arange(count) / RATE) * np.minimum(
        1, 3 * (1 - np.arange(count) / count)
    )
    loud: Sound = (sound * shape * 0.25 / np.abs(sound).max()).astype(np.float32)
    return loud
