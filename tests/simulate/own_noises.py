"""What a player does beside playing: a counting voice, breath, feet, keys, a bow being placed.

Every maker returns one noise with a peak of 1.  A counted word is one of the supplied voices, read
faster or slower than it was made: pitch, vowels and length move together, as from a smaller or a
larger person; the table of ``aloud_takes`` says which voices belong to which half.
"""

from functools import cache

import numpy as np
from scipy.signal import butter, lfilter, resample_poly, sosfilt

from rhythmtrain.storage.sounds import load_words, word_keys
from tests.simulate.sounds import Sound, syllable

COUNTED = ("1", "2", "3", "4", "&", "e", "a")


@cache
def _words(
    language: str, rate: int, keys: tuple[str, ...] = COUNTED
) -> dict[str, tuple[Sound, float]]:
    words = load_words(language, keys, rate=rate)
    return {key: (sound.astype(np.float64), beat) for key, (sound, beat) in words.items()}


def word(
    rng: np.random.Generator,
    rate: int,
    *,
    language: str,
    key: str,
    height: float,
    bright: float = 0.0,
) -> tuple[Sound, float]:
    """Return ``key`` as counted by a voice ``height`` times as high, and its beat point in seconds.

    ``bright`` between -1 and 1 tilts it towards the high, as a near microphone does, or the low.
    The language "made" is that of formula: a consonant and a vowel.
    """
    if language == "made":
        sound, beat_s = syllable(rng, rate), 0.03
    else:
        sound, beat_s = _words(language, rate)[key]
    return _spoken(rng, sound, beat_s, height=height, bright=bright)


def any_word(
    rng: np.random.Generator, rate: int, *, language: str, height: float, bright: float
) -> Sound:
    """Return any of all the words of a voice, as ``word`` does."""
    if language == "made":
        sound = syllable(rng, rate)
    else:
        words = _words(language, rate, word_keys(language))
        sound, _ = words[list(words)[int(rng.integers(len(words)))]]
    return _spoken(rng, sound, 0.0, height=height, bright=bright)[0]


def _spoken(
    rng: np.random.Generator, sound: Sound, beat_s: float, *, height: float, bright: float
) -> tuple[Sound, float]:
    part = round(100 * height * rng.uniform(0.97, 1.03))
    sound = resample_poly(sound, 100, part)
    sound = lfilter([1.0, -bright], [1.0], sound)
    return _full(sound), beat_s * 100 / part


def breath(rng: np.random.Generator, rate: int) -> Sound:
    """Return a breath drawn through the mouth: 0.2 to 0.5 s of hiss around a throat's resonance."""
    n = int(rng.uniform(0.2, 0.5) * rate)
    t = np.arange(n) / n
    peak = rng.uniform(0.3, 0.7)
    shape = np.where(t < peak, (t / peak) ** 1.5, ((1 - t) / (1 - peak)) ** 1.2)
    low, high = rng.uniform(300, 900), rng.uniform(3000, 8000)
    return _hiss(rng, shape, low, high, rate)


def sniff(rng: np.random.Generator, rate: int) -> Sound:
    """Return a sniff: 0.1 to 0.25 s of high hiss that comes fast and is cut off."""
    n = int(rng.uniform(0.1, 0.25) * rate)
    t = np.arange(n) / rate
    rise = np.minimum(1, t / rng.uniform(0.015, 0.05))
    fall = np.minimum(1, (t[-1] - t) / rng.uniform(0.02, 0.05))
    low, high = rng.uniform(800, 2000), rng.uniform(5000, 10000)
    return _hiss(rng, rise * fall, low, high, rate)


def foot(rng: np.random.Generator, rate: int) -> Sound:
    """Return a shoe on the floor: a thump of 50 to 160 Hz and a little of the sole."""
    t = np.arange(int(0.25 * rate)) / rate
    thump = np.zeros(t.size)
    for _ in range(3):
        phase = 2 * np.pi * (rng.uniform(50, 160) * t + rng.random())
        thump += rng.uniform(0.4, 1) * np.exp(-t / rng.uniform(0.02, 0.07)) * np.sin(phase)
    thump *= 1 - np.exp(-t / rng.uniform(0.002, 0.01))
    thump /= np.abs(thump).max()
    shape = np.exp(-t / rng.uniform(0.004, 0.012)) * np.minimum(1, t / 0.002)
    sole = _hiss(rng, shape, 300, rng.uniform(1200, 3000), rate)
    both = thump + rng.uniform(0.05, 0.25) * sole
    return _full(both)


def key_click(rng: np.random.Generator, rate: int) -> Sound:
    """Return a clarinet's key and pad: a click of metal, then a soft stop some ms later."""
    t = np.arange(int(0.06 * rate)) / rate
    shape = np.exp(-t / rng.uniform(0.002, 0.005)) * np.minimum(1, t / 0.0004)
    click = _hiss(rng, shape, rng.uniform(900, 2000), rng.uniform(4000, 9000), rate)
    late = np.maximum(t - rng.uniform(0.008, 0.025), 0)
    pad = np.exp(-late / 0.006) * np.minimum(1, late / 0.002)
    both = click + rng.uniform(0.3, 1) * _hiss(rng, pad, 150, 900, rate)
    return _full(both)


def bow_placed(rng: np.random.Generator, rate: int) -> Sound:
    """Return a bow set on the string: a dull knock, and a scrape of 40 to 120 ms."""
    n = int(rng.uniform(0.04, 0.12) * rate)
    t = np.arange(n) / rate
    knock = _hiss(rng, np.exp(-t / 0.012) * np.minimum(1, t / 0.003), 120, 700, rate)
    shape = np.minimum(1, t / 0.02) * np.minimum(1, (t[-1] - t) / 0.02)
    scrape = _hiss(rng, shape, 700, rng.uniform(2500, 6000), rate)
    both = knock + rng.uniform(0.1, 0.6) * scrape
    return _full(both)


def _hiss(rng: np.random.Generator, shape: Sound, low: float, high: float, rate: int) -> Sound:
    """Return noise between two frequencies under ``shape``, peak 1."""
    noise = rng.standard_normal(shape.size + rate // 10)
    sos = butter(2, (low, min(high, 0.45 * rate)), "band", fs=rate, output="sos")
    return _full(sosfilt(sos, noise)[rate // 10 :] * shape)


def _full(sound: Sound) -> Sound:
    """Return ``sound`` with a peak of 1."""
    scaled: Sound = sound / np.abs(sound).max()
    return scaled
