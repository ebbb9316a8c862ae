"""Sounds to be slowed, whose every onset is known, and how far a slowed one is off.

Clicks stand in faint noise.  A piano piece (``performances``, ``pianos``) and a sung line are made
twice: as recorded, and *ideally slow*, with every note begun at its exact scaled second.  What was
slowed is held against the ideal: the rise of energy in fine bands around each onset is slid over
that of the ideal one until both agree best (±60 ms); that distance is the onset's error.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.render.voices import BEAT, DOWNBEAT, clapped, struck
from tests.simulate.performances import make_piece
from tests.simulate.pianos import RATE, hiss, mixed
from tests.simulate.tempo_curves import MODELS, seconds_of

Floats = NDArray[np.float64]
Sound = NDArray[np.float32]
WINDOW_S, HOP_S, LAG_S = 0.0232, 0.002, 0.010
AROUND_S, FURTHEST_S = 0.05, 0.06
TOLERANCE_S = 0.0101  # ten milliseconds, told in steps of the hop


@dataclass(frozen=True, slots=True)
class Slowable:
    """A sound that can be made at any speed with its onsets at their exact scaled seconds."""

    make: Callable[[float], Sound]
    onsets_s: Floats
    rate: int


def clicks(seed: int, rate: int, count: int = 24) -> tuple[Sound, Floats]:
    """Return clicks and claps in faint noise, and the second of each one's first sample."""
    rng = np.random.default_rng(seed)
    places = np.round((0.3 + np.cumsum(rng.uniform(0.2, 0.7, count))) * rate).astype(int)
    sound = 1e-4 * rng.standard_normal(places[-1] + rate)
    voices = (struck(DOWNBEAT, rate), struck(BEAT, rate), clapped(rate))
    for number, place in enumerate(places.tolist()):
        voice = voices[number % len(voices)]
        sound[place : place + len(voice)] += voice
    return sound.astype(np.float32), places / rate


def click_errors_s(sound: Sound, rate: int, at_s: Floats, *, first: Floats | None = None) -> Floats:
    """Return how late the first sample over 30 % of the peak around each of ``at_s`` is."""
    found = []
    for second in at_s:
        start = int((second - 0.08) * rate)
        near = np.abs(sound[start : start + int(0.16 * rate)])
        found.append((start + int(np.argmax(near >= 0.3 * near.max()))) / rate - second)
    errors = np.array(found)
    return errors if first is None else errors - first


def piano(seed: int, *, bars: int = 10, apart_s: float = 0.0) -> Slowable:
    """Return a piano piece with a breathing tempo; its hands are ``apart_s`` (sd) apart."""
    rng = np.random.default_rng(seed)
    piece = make_piece(rng, bars)
    at, seconds = seconds_of(
        rng,
        bars=bars,
        beats=piece.beats,
        beat_s=rng.uniform(0.4, 0.8),
        model=list(MODELS)[seed % len(MODELS)],
        spread=0.08,
    )
    seconds = seconds + 0.6
    onsets = np.interp(piece.onset, at, seconds) + rng.normal(0, apart_s, piece.onset.size)
    ends = np.interp(piece.onset + piece.length, at, seconds)
    pedal = rng.uniform(0, 1) * (seconds[1] - seconds[0]) * 12
    lengths = np.maximum(ends - onsets, 0.08) + pedal * rng.random(onsets.size)

    def make(speed: float) -> Sound:
        sound = mixed(
            (onsets / speed, piece.pitch, piece.loud, lengths / speed),
            length_s=(float(seconds[-1]) + 1.5) / speed,
            which=seed % 2,
            room=np.random.default_rng(seed + 1),
        )
        return sound + hiss(np.random.default_rng(seed + 2), sound.size, -60)

    return Slowable(make, _first_of_each(onsets), RATE)


def voice(seed: int, *, notes: int = 24) -> Slowable:
    """Return a sung line: vowels of a gliding pitch with vibrato, each begun over 30 to 60 ms."""
    rng = np.random.default_rng(seed)
    onsets = 0.5 + np.cumsum(rng.uniform(0.25, 0.7, notes))
    pitches = 220 * 2 ** (rng.integers(0, 12, notes) / 12)
    rises = rng.uniform(0.03, 0.06, notes)
    vowels = rng.choice([500.0, 700.0, 900.0, 1100.0], notes)

    def make(speed: float) -> Sound:
        sound = np.zeros(int((onsets[-1] + 1.5) / speed * RATE))
        for onset, pitch, rise, vowel in zip(onsets, pitches, rises, vowels, strict=True):
            begin = round(onset / speed * RATE)
            t = np.arange(int(0.22 / speed * RATE)) / RATE
            phase = 2 * np.pi * np.cumsum(pitch * (1 + 0.004 * np.sin(34 * t))) / RATE
            tone = sum(
                np.exp(-(((k * pitch - vowel) / 500) ** 2)) * np.sin(k * phase)
                + 0.05 / k * np.sin(k * phase)
                for k in range(1, 13)
            )
            shape = np.minimum(1, t / rise) * np.minimum(1, (t[-1] - t) / 0.05)
            end = min(begin + t.size, sound.size)
            sound[begin:end] += 0.3 * (tone * shape)[: end - begin]
        noise = hiss(np.random.default_rng(seed + 2), sound.size, -60)
        return sound.astype(np.float32) + noise

    return Slowable(make, onsets, RATE)


def onset_errors_s(slowed: Sound, ideal: Sound, rate: int, at_s: Floats) -> Floats:
    """Return how late each onset of ``slowed`` is, in seconds; those at the edges are left out."""
    heard, wanted = _rise(slowed, rate), _rise(ideal, rate)
    around, furthest = round(AROUND_S / HOP_S), round(FURTHEST_S / HOP_S)
    shape = np.hanning(2 * around + 1)
    found = []
    for second in at_s:
        place = round(second / HOP_S)
        low, high = place - around, place + around + 1
        if low < furthest or high + furthest > min(len(heard), len(wanted)):
            continue
        model = wanted[low:high] * shape
        alike = [
            np.corrcoef(heard[low + lag : high + lag] * shape, model)[0, 1]
            for lag in range(-furthest, furthest + 1)
        ]
        found.append((int(np.argmax(alike)) - furthest) * HOP_S)
    return np.array(found)


def _first_of_each(onsets: Floats) -> Floats:
    """Return the first onset of each chord; notes within 50 ms are one chord."""
    kept: list[float] = []
    for onset in np.sort(onsets):
        if not kept or onset - kept[-1] > 0.05:
            kept.append(float(onset))
    return np.array(kept)


def _rise(sound: Sound, rate: int) -> Floats:
    """Return how much energy rises in all bins at each hop."""
    size = 1 << round(np.log2(WINDOW_S * rate))
    starts = np.round(np.arange(0, len(sound), HOP_S * rate)).astype(int)
    padded = np.pad(sound, (size // 2, size))
    frames = np.stack([padded[start : start + size] for start in starts]) * np.hanning(size)
    levels = np.log(1e-4 * size + np.abs(np.fft.rfft(frames, axis=1)))
    lag = round(LAG_S / HOP_S)
    rises: Floats = np.maximum(levels[lag:] - levels[:-lag], 0).sum(axis=1)
    return np.concatenate((np.zeros(lag - lag // 2), rises))
