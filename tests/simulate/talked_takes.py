"""Takes of somebody who says what comes, and then claps it: talk first, the rhythm after it.

And takes of talk alone, word after word of all that a voice can say, as loud as one talks.

Voices, claps and rooms are those of ``aloud_takes``; level is the voice's over a clap's, in dB.
"""

from dataclasses import dataclass

import numpy as np
from scipy.signal import fftconvolve

from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import notes_of
from tests.simulate.aloud_takes import HALVES, Half
from tests.simulate.own_noises import any_word, word
from tests.simulate.sounds import Sound, pink_noise

Random = np.random.Generator
RHYTHMS = (
    "1 & 2 & | 1 a 2 | 1 & a 2 e | 1 2",
    "1 e & a 2 & | 1 [2] | 1 a 2 & | 1 2",
    "1 2 | (1) & 2 & | 1 & 2 & | 1 2",
)
METRE = Metre.parse("2/4")
WORDS = ("1", "2", "3", "4", "&")
TALK_FROM_S, QUIET_S, SPREAD_S = 0.3, 1.5, 0.015
PAUSES = 0.15


@dataclass(frozen=True, slots=True)
class TalkedTake:
    """The sound, its rate, and what was clapped at which tempo."""

    sound: Sound
    rate: int
    rhythm: str
    tempo: float


def talked_take(half: str, number: int, level_db: float) -> TalkedTake:
    """Return take ``number``: two to five seconds of talk, then four bars of claps."""
    made = HALVES[half]
    rng = np.random.default_rng((5, made.seed, number))
    rate = int(rng.choice(made.rates))
    tempo, talk_s = float(rng.uniform(60, 110)), float(rng.uniform(2, 5))
    rhythm = RHYTHMS[number % len(RHYTHMS)]
    beats = np.array([float(note.at) for note in notes_of(read_bars(rhythm, METRE))])
    places = talk_s + QUIET_S + beats * 60 / tempo + rng.normal(0, SPREAD_S, len(beats))
    length = int((places[-1] + 2) * rate)
    claps = np.zeros(length + 2 * rate)
    for place in places:
        clap = made.clap(rng, rate) * 10 ** (rng.uniform(-4, 4) / 20)
        claps[int(place * rate) :][: clap.size] += clap
    voice = _talk(rng, made, (length + 2 * rate, rate), talk_s) * 10 ** (level_db / 20)
    rooms = [made.room(rng, rate, ratio_db=rng.uniform(3, 12)) for _ in range(2)]
    wet = sum(
        fftconvolve(dry, room)[:length] for dry, room in zip((claps, voice), rooms, strict=True)
    )
    wet = wet + 0.25 * 10 ** (-rng.uniform(30, 50) / 20) * pink_noise(rng, length)
    return TalkedTake(0.5 * wet / np.abs(wet).max(), rate, rhythm, tempo)


def _talk(rng: Random, made: Half, shape: tuple[int, int], until_s: float) -> Sound:
    """Return words one after the other, some a little after the one before."""
    length, rate = shape
    line = np.zeros(length)
    language, height = str(rng.choice(made.voices)), float(rng.uniform(0.8, 1.2))
    at = TALK_FROM_S
    while at < until_s:
        sound, _ = word(rng, rate, language=language, key=str(rng.choice(WORDS)), height=height)
        line[int(at * rate) :][: sound.size] += sound * 10 ** (rng.uniform(-4, 4) / 20)
        at += sound.size / rate * rng.uniform(0.7, 1.3) + (rng.random() < 0.2) * 0.3
    return line


def talk_alone(half: str, number: int, length_s: float = 20.0) -> tuple[Sound, int]:
    """Return take ``number`` of somebody who talks and never claps, and its rate.

    It peaks 2 to 20 dB under full scale.
    """
    made = HALVES[half]
    rng = np.random.default_rng((9, made.seed, number))
    rate = int(rng.choice(made.rates))
    length = int(length_s * rate)
    line = np.zeros(length + 3 * rate)
    language = made.voices[number % len(made.voices)]
    height = float(rng.uniform(*made.heights[int(rng.integers(len(made.heights)))]))
    bright = float(rng.uniform(*made.bright))
    at = TALK_FROM_S
    while at < length_s - 1:
        sound = any_word(rng, rate, language=language, height=height, bright=bright)
        line[int(at * rate) :][: sound.size] += sound * 10 ** (rng.uniform(-6, 0) / 20)
        at += sound.size / rate * rng.uniform(0.75, 1.05)
        at += (rng.random() < PAUSES) * rng.uniform(0.2, 1.0)
    wet = fftconvolve(line, made.room(rng, rate, ratio_db=rng.uniform(0, 12)))[:length]
    hiss = 0.25 * 10 ** (-rng.uniform(30, 50) / 20) * np.abs(wet).max()
    wet = wet + hiss * pink_noise(rng, length)
    return 10 ** (rng.uniform(-20, -2) / 20) * wet / np.abs(wet).max(), rate
