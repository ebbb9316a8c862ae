"""Sounds of hands, voices and instruments with exactly known onsets, made from a seeded generator.

*Onset* means one thing everywhere here: the first sample at which the dry direct sound, before
room and noise, reaches 5 % of its own peak.  Every sound keeps its natural rise, so a detector
that waits for the loudest moment is late and is seen to be late.

Two families make claps and taps.  The first filters a noise burst through the resonances of
cupped hands (after Repp 1987, "The sound of two hands clapping").  The held-out family is built
on another formula (grains of damped sinusoids under a gamma-shaped envelope, sparse reflections
before the tail) with other ranges, and no setting of the detector was ever chosen on it.

Signal-to-noise ratio: rms of the typical stroke in its loudest 10 ms, direct and reverberant
together, over the rms of the noise, both over the whole band.  Direct-to-reverberant ratio:
energy of the direct path over the energy of everything later, both of the room's response.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, lfilter, sosfilt

Sound = NDArray[np.float64]
Maker = Callable[[np.random.Generator, int], Sound]

ONSET_SHARE = 0.05
LOUDEST_S = 0.010


@dataclass(frozen=True, slots=True)
class Scene:
    """A recording (shape ``(n,)``, peak below 1) and the onsets truly in it, in seconds."""

    sound: Sound
    rate: int
    onsets_s: tuple[float, ...]


def onset_sample(dry: Sound) -> int:
    """Return the first sample at which ``dry`` reaches 5 % of its peak."""
    size = np.abs(dry)
    return int(np.argmax(size >= ONSET_SHARE * size.max()))


def clap(rng: np.random.Generator, rate: int) -> Sound:
    """Return a clap: a noise burst with a rise of 0.5 to 4 ms through two hand resonances."""
    n = int(0.15 * rate)
    burst = _burst(rng, n, rate, rise_s=rng.uniform(0.0005, 0.004), fall_s=rng.uniform(0.006, 0.02))
    dry = 0.2 * burst
    for _ in range(2):
        dry += _resonance(burst, rng.uniform(700, 3200), rng.uniform(1.5, 6), rate)
    return _full(dry)


def tap(rng: np.random.Generator, rate: int) -> Sound:
    """Return a knuckle on a table: wooden modes (300 to 2500 Hz) under a rise of 0.2 to 1 ms."""
    t = np.arange(int(0.15 * rate)) / rate
    dry = 0.3 * _burst(rng, t.size, rate, rise_s=0.0004, fall_s=0.003)
    for _ in range(4):
        decay = rng.uniform(0.006, 0.025)
        dry += (
            rng.uniform(0.3, 1)
            * np.exp(-t / decay)
            * np.sin(2 * np.pi * rng.uniform(300, 2500) * t + rng.uniform(0, 2 * np.pi))
        )
    dry *= 1 - np.exp(-t / rng.uniform(0.0002, 0.001))
    return _full(dry)


def soft_tap(rng: np.random.Generator, rate: int) -> Sound:
    """Return a soft hand on a thigh or drum: 70 to 300 Hz, a rise of 2 to 8 ms, little above."""
    t = np.arange(int(0.3 * rate)) / rate
    dry = np.zeros(t.size)
    for _ in range(3):
        decay = rng.uniform(0.02, 0.06)
        dry += (
            rng.uniform(0.3, 1)
            * np.exp(-t / decay)
            * np.sin(2 * np.pi * rng.uniform(70, 300) * t + rng.uniform(0, 2 * np.pi))
        )
    skin = _burst(rng, t.size, rate, rise_s=0.004, fall_s=0.012)
    dry += 2 * lfilter(*butter(2, 600 / (rate / 2)), skin)
    dry *= 1 - np.exp(-t / rng.uniform(0.002, 0.008))
    return _full(dry)


VOWELS = (
    (730, 1090, 2440),
    (270, 2290, 3010),
    (530, 1840, 2480),
    (570, 840, 2410),
    (300, 870, 2240),
)
"""Formants of a man's ah, ee, eh, aw, oo in Hz (Peterson & Barney 1952, table II)."""


def syllable(rng: np.random.Generator, rate: int) -> Sound:
    """Return a spoken syllable: consonant (stop, hiss or glide) and a vowel of three formants."""
    n = int(rng.uniform(0.14, 0.22) * rate)
    t = np.arange(n) / rate
    pitch = rng.uniform(95, 230) * (1 - 0.15 * t / t[-1])
    phase = np.cumsum(pitch) / rate
    pulses = np.diff(np.floor(phase), prepend=0.0) + 0.004 * rng.standard_normal(n)
    vowel = lfilter([1.0], [1.0, -0.95], pulses)
    for centre in VOWELS[int(rng.integers(len(VOWELS)))]:
        vowel = _resonance(vowel, centre * rng.uniform(0.95, 1.2), 9.0, rate) + 0.05 * vowel
    attack = {"stop": 0.012, "hiss": 0.02, "glide": 0.045}
    name = ("stop", "hiss", "glide")[int(rng.integers(3))]
    shape = np.minimum(1, t / attack[name]) * np.minimum(1, (t[-1] - t) / 0.04)
    vowel *= shape / np.abs(vowel * shape).max()
    if name == "glide":
        return _full(vowel)
    if name == "stop":
        head = 0.35 * _burst(rng, int(0.02 * rate), rate, rise_s=0.001, fall_s=0.006)
    else:
        m = int(rng.uniform(0.04, 0.07) * rate)
        hiss = sosfilt(
            butter(2, min(3500, rate * 0.4), "high", fs=rate, output="sos"), rng.standard_normal(m)
        )
        head = 0.25 * hiss / np.abs(hiss).max() * np.minimum(1, np.arange(m) / (0.015 * rate))
    return np.concatenate([head, vowel])


def reed_note(rng: np.random.Generator, rate: int) -> Sound:
    """Return a clarinet-like note: odd harmonics that arrive after each other, attack 15 to 50 ms."""
    return _tone(rng, rate, attack_s=rng.uniform(0.015, 0.05), even=0.08, slope=1.1, vibrato=0.0)


def bowed_note(rng: np.random.Generator, rate: int) -> Sound:
    """Return a bowed note: all harmonics, attack 30 to 90 ms, vibrato, bow noise."""
    return _tone(rng, rate, attack_s=rng.uniform(0.03, 0.09), even=1.0, slope=0.9, vibrato=0.006)


def grain_clap(rng: np.random.Generator, rate: int) -> Sound:
    """Return a clap of the held-out family: two to five grains under a gamma-shaped envelope."""
    t = np.arange(int(0.12 * rate)) / rate
    dry = np.zeros(t.size)
    for _ in range(int(rng.integers(2, 6))):
        late = t - rng.uniform(0, 0.004)
        u = np.maximum(late, 0) / rng.uniform(0.0008, 0.003)
        envelope = u ** rng.uniform(0.5, 1.5) * np.exp(-u)
        for _ in range(12):
            dry += envelope * np.sin(
                2 * np.pi * rng.lognormal(np.log(1900), 0.6) * t + rng.uniform(0, 2 * np.pi)
            )
    return _full(dry)


def small_room(rng: np.random.Generator, rate: int, *, ratio_db: float) -> Sound:
    """Return a room's response: a direct path, then noise that falls by 60 dB in 0.25 to 0.7 s."""
    rt60 = rng.uniform(0.25, 0.7)
    t = np.arange(int(rt60 * rate)) / rate
    tail = rng.standard_normal(t.size) * 10 ** (-3 * t / rt60)
    tail[: int(rng.uniform(0.001, 0.005) * rate)] = 0
    tail = lfilter(*butter(1, min(6000, rate * 0.4) / (rate / 2)), tail)
    return _with_direct(tail, ratio_db)


def sparse_room(rng: np.random.Generator, rate: int, *, ratio_db: float) -> Sound:
    """Return the held-out family's room: a dozen separate reflections, then a denser, brighter tail."""
    rt60 = rng.uniform(0.3, 0.9)
    t = np.arange(int(rt60 * rate)) / rate
    tail = 0.15 * rng.laplace(size=t.size) * (t > 0.02) * np.exp(-6.9 * t / rt60)
    for place in rng.uniform(0.0015, 0.04, 12):
        tail[int(place * rate)] += (
            rng.choice([-1, 1]) * np.exp(-6.9 * place / rt60) * rng.uniform(1, 4)
        )
    return _with_direct(tail, ratio_db)


def pink_noise(rng: np.random.Generator, n: int) -> Sound:
    """Return ``n`` samples of noise with equal power in every octave, rms 1."""
    spectrum = np.fft.rfft(rng.standard_normal(n))
    spectrum /= np.sqrt(np.maximum(np.arange(spectrum.size), 1))
    noise = np.fft.irfft(spectrum, n)
    return _even(noise)


def white_noise(rng: np.random.Generator, n: int) -> Sound:
    """Return ``n`` samples of white noise, rms 1."""
    return rng.standard_normal(n)


def engine_hum(rng: np.random.Generator, n: int, rate: int) -> Sound:
    """Return a distant car: a wavering low hum with its partials in low-passed noise, rms 1."""
    t = np.arange(n) / rate
    wander = np.cumsum(rng.standard_normal(n)) / np.sqrt(n)
    phase = 2 * np.pi * np.cumsum(45 * (1 + 0.03 * wander)) / rate
    hum = sum((np.sin(k * phase) / k for k in range(1, 7)), np.zeros(n))
    road = lfilter(*butter(2, 300 / (rate / 2)), rng.standard_normal(n))
    noise = (hum + 4 * road) * (1 + 0.3 * np.sin(2 * np.pi * 0.2 * t))
    return _even(noise)


def talk(rng: np.random.Generator, n: int, rate: int) -> Sound:
    """Return somebody talking without pause, rms 1."""
    line = np.zeros(n + rate)
    place = 0
    while place < n:
        word = syllable(rng, rate)
        line[place : place + word.size] += rng.uniform(0.3, 1) * word
        place += int(rng.uniform(0.15, 0.4) * rate)
    return _even(line[:n])


def uneven_times(
    rng: np.random.Generator, count: int, *, shortest_s: float = 0.11, longest_s: float = 0.6
) -> NDArray[np.float64]:
    """Return ``count`` stroke times in seconds after a lead-in of about half a second."""
    times: Sound = 0.5 + rng.uniform(0, 0.2) + np.cumsum(rng.uniform(shortest_s, longest_s, count))
    return times


def perform(
    rng: np.random.Generator,
    maker: Maker,
    times_s: NDArray[np.float64],
    *,
    rate: int = 44100,
    room: Sound | None = None,
    spread_db: float = 6.0,
) -> Scene:
    """Return strokes of ``maker`` near ``times_s``, each up to ``spread_db`` softer, in ``room``."""
    n = int((times_s[-1] + 1.0) * rate)
    dry = np.zeros(n + 2 * rate)
    onsets = []
    for time in times_s:
        stroke = maker(rng, rate) * 10 ** (-rng.uniform(0, spread_db) / 20)
        place = int(time * rate)
        dry[place : place + stroke.size] += stroke
        onsets.append((place + onset_sample(stroke)) / rate)
    wet = dry[:n] if room is None else fftconvolve(dry, room)[:n]
    return Scene(wet, rate, tuple(onsets))


def with_noise(scene: Scene, noise: Sound, *, snr_db: float) -> Scene:
    """Return the scene with ``noise`` at ``snr_db`` under its typical stroke, peak at 0.5."""
    m = int(LOUDEST_S * scene.rate)
    power = np.convolve(scene.sound**2, np.full(m, 1 / m), "same")
    loudest = [
        power[int(t * scene.rate) : int((t + 0.05) * scene.rate)].max() for t in scene.onsets_s
    ]
    level = np.sqrt(np.median(loudest) / np.mean(noise**2)) * 10 ** (-snr_db / 20)
    sound = scene.sound + level * noise[: scene.sound.size]
    return Scene(0.5 * sound / np.abs(sound).max(), scene.rate, scene.onsets_s)


def _burst(rng: np.random.Generator, n: int, rate: int, *, rise_s: float, fall_s: float) -> Sound:
    t = np.arange(n) / rate
    rise = np.sin(0.5 * np.pi * np.minimum(1, t / rise_s)) ** 2
    burst = rng.standard_normal(n) * rise * np.exp(-np.maximum(0, t - rise_s) / fall_s)
    return _full(burst)


def _resonance(sound: Sound, centre: float, quality: float, rate: int) -> Sound:
    """Return ``sound`` through a two-pole resonance of unit gain at ``centre`` Hz."""
    w = 2 * np.pi * min(centre, 0.45 * rate) / rate
    alpha = np.sin(w) / (2 * quality)
    ring: Sound = lfilter(
        [alpha / (1 + alpha), 0.0, -alpha / (1 + alpha)],
        [1.0, -2 * np.cos(w) / (1 + alpha), (1 - alpha) / (1 + alpha)],
        sound,
    )
    return ring


def _tone(
    rng: np.random.Generator,
    rate: int,
    *,
    attack_s: float,
    even: float,
    slope: float,
    vibrato: float,
) -> Sound:
    pitch = 220 * 2 ** (rng.integers(0, 24) / 12)
    n = int(rng.uniform(0.22, 0.45) * rate)
    t = np.arange(n) / rate
    wave = 1 + vibrato * np.sin(2 * np.pi * 5.5 * t) * np.minimum(1, t / 0.2)
    phase = 2 * np.pi * pitch * np.cumsum(wave) / rate
    tone = np.zeros(n)
    for k in range(1, int(min(16, 0.45 * rate / pitch)) + 1):
        late = np.minimum(1, t / (attack_s * (1 + 0.1 * k)))
        tone += (even if k % 2 == 0 else 1.0) / k**slope * late**1.5 * np.sin(k * phase)
    tone += 0.02 * rng.standard_normal(n) * np.minimum(1, t / 0.01)
    tone *= np.minimum(1, (t[-1] - t) / rng.uniform(0.02, 0.06))
    return _full(tone)


def _full(sound: Sound) -> Sound:
    """Return ``sound`` with a peak of 1."""
    scaled: Sound = sound / np.abs(sound).max()
    return scaled


def _even(noise: Sound) -> Sound:
    """Return ``noise`` with an rms of 1."""
    scaled: Sound = noise / np.sqrt(np.mean(noise**2))
    return scaled


def _with_direct(tail: Sound, ratio_db: float) -> Sound:
    response: Sound = tail * np.sqrt(10 ** (-ratio_db / 10) / np.sum(tail**2))
    response[0] = 1.0
    return response
