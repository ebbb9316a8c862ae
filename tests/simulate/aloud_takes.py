"""Takes of players who count aloud, tap their feet, sniff and breathe while they play.

A bar is counted before the first note; bars of rest are counted too.  Voice and noises lie within
some 25 ms of their places, notes within 12 ms.  *Level* of a noise is its peak over the peak of the
median note, in dB, both as they reach the microphone without the room.

Two halves: ``"tune"`` is what the settings were chosen on; ``"held out"`` has other voices (the
only one that was not made by formula among them), claps and rooms of the other formula, other seeds.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from scipy.signal import fftconvolve

from tests.simulate.own_noises import bow_placed, breath, foot, key_click, sniff, word
from tests.simulate.sounds import (
    Maker,
    Scene,
    Sound,
    bowed_note,
    clap,
    grain_clap,
    onset_sample,
    pink_noise,
    reed_note,
    small_room,
    soft_tap,
    sparse_room,
    tap,
)

Random = np.random.Generator
Range = tuple[float, float]
BEATS, BARS = 4, 9
LEAD_S = 0.4
BREATHS = (sniff, breath)
FIGURES = ((0.0,), (0.0, 0.5), (0.5,), (), (0.0, 0.75), (0.25, 0.5), (0.0,))


@dataclass(frozen=True, slots=True)
class Half:
    """What one half is made of."""

    voices: tuple[str, ...]
    heights: tuple[Range, ...]
    bright: Range
    rates: tuple[int, ...]
    clap: Maker
    room: Callable[..., Sound]
    seed: int


HALVES = {
    "tune": Half(
        ("fr", "de", "made"), ((0.75, 0.95), (1.1, 1.35)), (-0.3, 0.95), (44_100, 48_000), clap, small_room, 31
    ),
    "held out": Half(
        ("en", "es", "nl"), ((0.82, 1.05), (1.2, 1.5)), (-0.4, 0.6), (32_000, 44_100, 48_000), grain_clap,
        sparse_room, 34,
    ),
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Case:
    """What is heard beside the notes, each at a level in dB; None is not at all.

    ``maker`` None is the half's own clap; ``ratio_db`` direct over reverberant sound; ``hiss_db``
    how far the room's noise lies under a note.  ``before`` comes on the beat before entries.
    """

    maker: Maker | None = None
    kind: str = "claps"
    voice: Range | None = None
    foot: Range | None = None
    breath: Range | None = None
    before: tuple[Maker, ...] = BREATHS
    ratio_db: Range = (3, 12)
    hiss_db: Range = (30, 50)
    rest: bool = False


CASES = {
    "claps alone": Case(),
    "taps alone": Case(tap),
    "soft hands alone": Case(soft_tap),
    "voice -18 to -12 dB": Case(voice=(-18, -12)),
    "voice -12 to -6 dB": Case(voice=(-12, -6)),
    "voice -6 to 0 dB": Case(voice=(-6, 0)),
    "voice 0 to +6 dB": Case(voice=(0, 6)),
    "voice, live room": Case(voice=(-12, 0), ratio_db=(-6, 0)),
    "voice, noisy room": Case(voice=(-12, 0), hiss_db=(15, 20)),
    "foot": Case(foot=(-12, 0)),
    "sniffs and breath": Case(breath=(-20, -6)),
    "voice, foot, breath": Case(voice=(-12, -3), foot=(-15, -6), breath=(-20, -10)),
    "voice and taps": Case(tap, voice=(-12, 0)),
    "voice and soft hands": Case(soft_tap, voice=(-18, -9)),
    "voice, foot, no clap": Case(voice=(-12, 0), foot=(-15, -6), rest=True),
    "reed, breath, keys": Case(
        reed_note, kind="wind", breath=(-26, -12), before=(breath, sniff, key_click)
    ),
    "bow, breath, bow placed": Case(
        bowed_note, kind="strings", breath=(-26, -12), before=(sniff, bow_placed)
    ),
    "sung, breath": Case(kind="voice", breath=(-26, -12)),
}


@dataclass(frozen=True, slots=True)
class AloudTake:
    """A take, and where noises come a beat before an entry (in seconds)."""

    scene: Scene
    before_s: tuple[float, ...]


def aloud_take(half: str, name: str, number: int) -> AloudTake:
    """Return take ``number`` of the case ``name``."""
    case, made = CASES[name], HALVES[half]
    rng = np.random.default_rng((made.seed, number, sum(map(ord, name))))
    rate = int(rng.choice(made.rates))
    beat_s = 60 / float(rng.uniform(60, 116))
    length = int((LEAD_S + (BARS + 1) * BEATS * beat_s) * rate)
    notes = _notes(rng, beat_s)
    maker = case.maker or made.clap
    if case.kind == "voice":
        maker = _sung
    dry, onsets = _played(rng, maker, notes, (length, rate))
    entries = [
        at for at, before in zip(notes[1:], notes[:-1], strict=True) if at - before > 3 * beat_s
    ]
    entries = [notes[0], *entries]
    before_s = tuple(entry - beat_s for entry in entries) if case.breath else ()
    noises = np.zeros(length)
    if case.voice is not None:
        noises += _counted(rng, made, beat_s, case.voice, (length, rate))
    if case.foot is not None:
        noises += _each(rng, (foot,), _beats(beat_s), case.foot, (length, rate))
    if case.breath is not None:
        noises += _each(rng, case.before, before_s, case.breath, (length, rate))
    if case.rest:
        dry, onsets = dry * 0, ()
    room = made.room(rng, rate, ratio_db=rng.uniform(*case.ratio_db))
    other = made.room(rng, rate, ratio_db=rng.uniform(*case.ratio_db))
    wet = fftconvolve(dry, room)[:length] + fftconvolve(noises, other)[:length]
    wet += 0.25 * 10 ** (-rng.uniform(*case.hiss_db) / 20) * pink_noise(rng, length)
    sound = 0.5 * wet / np.abs(wet).max()
    return AloudTake(Scene(sound, rate, onsets), before_s)


def _notes(rng: Random, beat_s: float) -> list[float]:
    """Return when notes are meant: one bar counted first, one or two bars of rest among the others."""
    rests = set(rng.choice(np.arange(2, BARS), 2, replace=False).tolist())
    notes = []
    for bar in range(1, BARS):
        if bar in rests:
            continue
        for beat in range(BEATS):
            figure = FIGURES[int(rng.integers(len(FIGURES)))]
            begin = LEAD_S + (bar * BEATS + beat) * beat_s
            notes += [begin + share * beat_s for share in figure]
    return notes


def _beats(beat_s: float) -> tuple[float, ...]:
    return tuple(LEAD_S + beat * beat_s for beat in range(BARS * BEATS))


def _played(
    rng: Random, maker: Maker, notes: list[float], shape: tuple[int, int]
) -> tuple[Sound, tuple[float, ...]]:
    """Return the notes' sound, the median note's peak 1, and where each truly starts."""
    length, rate = shape
    dry = np.zeros(length + 2 * rate)
    onsets = []
    for time in notes:
        note = maker(rng, rate) * 10 ** (rng.uniform(-4, 4) / 20)
        place = int((time + rng.normal(0, 0.012)) * rate)
        dry[place : place + note.size] += note
        onsets.append((place + onset_sample(note)) / rate)
    return dry[:length], tuple(sorted(onsets))


def _counted(
    rng: Random, made: Half, beat_s: float, level_db: Range, shape: tuple[int, int]
) -> Sound:
    """Return every beat counted, and "and" after some: its beat point near its place."""
    length, rate = shape
    line = np.zeros(length + 2 * rate)
    language = str(rng.choice(made.voices))
    height = float(rng.uniform(*made.heights[int(rng.integers(len(made.heights)))]))
    bright = float(rng.uniform(*made.bright))
    ands = rng.random() < 0.6
    loud = rng.uniform(*level_db)
    for number, at in enumerate(_beats(beat_s)):
        keys = [(at, str(number % BEATS + 1))]
        if ands and rng.random() < 0.7:
            keys.append((at + 0.5 * beat_s, "&"))
        for place, key in keys:
            sound, beat = word(rng, rate, language=language, key=key, height=height, bright=bright)
            first = max(0, int((place - beat + rng.normal(0, 0.025)) * rate))
            line[first : first + sound.size] += sound * 10 ** ((loud + rng.uniform(-3, 3)) / 20)
    return line[:length]


def _each(
    rng: Random,
    makers: tuple[Maker, ...],
    places: tuple[float, ...],
    level_db: Range,
    shape: tuple[int, int],
) -> Sound:
    """Return a noise at each of the ``places``."""
    length, rate = shape
    line = np.zeros(length + 2 * rate)
    for place in places:
        sound = makers[int(rng.integers(len(makers)))](rng, rate)
        first = max(0, int((place + rng.normal(0, 0.025)) * rate))
        line[first : first + sound.size] += sound * 10 ** (rng.uniform(*level_db) / 20)
    return line[:length]


def _sung(rng: Random, rate: int) -> Sound:
    """Return a sung syllable of the supplied or made voices."""
    sound, _ = word(rng, rate, language="made", key="1", height=float(rng.uniform(0.8, 1.3)))
    return sound
