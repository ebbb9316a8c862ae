"""A microphone beside a loudspeaker: tracks, rooms, loudspeakers and players with known claps.

The track is a real one (spoken count, click, tune, from ``render.track``).  It goes through a
loudspeaker (band limits, overload or compressor), a room (separate early reflections, then a tail
that falls by 60 dB in 0.3 or 0.6 s), perhaps a gain or a room that changes, and a recorder whose
clock runs by up to 450 ppm fast or slow.  Claps come from nearer by and from another place.

*Bleed* is the peak of the loudspeaker at the microphone over the peak of the median clap, in dB.

Two halves: ``"tune"`` is what thresholds were chosen on; ``"held out"`` has claps of the other
formula, other words, loudspeakers, rooms and rates, and nothing was chosen on it.
"""

from dataclasses import dataclass, field
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray
from scipy.signal import butter, fftconvolve, lfilter, sosfilt

from rhythmtrain.prompts.plan import Layer, Prompt
from rhythmtrain.render.track import track_blocks
from rhythmtrain.storage.sounds import load_words
from tests.simulate.plans import joined, plan, prompt
from tests.simulate.sounds import (
    Maker,
    Sound,
    clap,
    grain_clap,
    onset_sample,
    pink_noise,
    sparse_room,
    syllable,
    tap,
)

Random = np.random.Generator
COUNT_IN = 4
BEFORE_S = 0.3


@dataclass(frozen=True, slots=True)
class Half:
    """What one half is made of."""

    languages: tuple[str, ...]
    rates: tuple[int, ...]
    clap: Maker
    rt60_s: tuple[float, ...]
    seed: int


HALVES = {
    "tune": Half(("en", "fr"), (44_100, 48_000), clap, (0.3, 0.6), 11),
    "held out": Half(("de", "nl", "es"), (44_100, 48_000), grain_clap, (0.35, 0.55), 12),
}


@dataclass(frozen=True, slots=True)
class Case:
    """What is hard about a take: the player's sound, the loudspeaker, the noise, what moves."""

    maker: str = "clap"
    overload: float = 0.5
    compressor: bool = False
    noise_db: float = 40.0
    swaying: bool = False
    drifting: bool = False
    changing: bool = False
    claps: bool = True
    layers: tuple[str, ...] = ("click", "count", "tune")


CASES = {
    "still room, overload": Case(),
    "loudspeaker compressor": Case(compressor=True),
    "noise at 15 dB": Case(noise_db=15.0),
    "microphone swaying": Case(swaying=True),
    "gain drifting 6 dB": Case(drifting=True),
    "room changing": Case(changing=True),
    "taps": Case(maker="tap"),
    "syllables": Case(maker="syllable"),
}


@dataclass(frozen=True, slots=True)
class Recorded:
    """A take: what was heard and played, at one rate, and the truth about both."""

    heard: NDArray[np.float32]
    track: NDArray[np.float32]
    rate: int
    delay_s: float
    skew_ppm: float
    claps_s: tuple[float, ...] = field(repr=False)
    clicks_s: tuple[float, ...] = field(repr=False)

    def in_track_time(self, heard_s: float) -> float:
        """Return when in the track something sounds that is heard at ``heard_s``."""
        return (heard_s - self.delay_s) / (1 + self.skew_ppm * 1e-6)


@dataclass(frozen=True, slots=True, eq=False)
class Scene:
    """A take before it is mixed: loudspeaker at the microphone (peak 1), player, noise (rms 1)."""

    bleed: Sound = field(repr=False)
    played: Sound = field(repr=False)
    noise: Sound = field(repr=False)
    track: NDArray[np.float32] = field(repr=False)
    rate: int
    delay_s: float
    skew_ppm: float
    onsets_s: tuple[float, ...]
    clicks_s: tuple[float, ...]


def recorded(
    half: str, case: Case, number: int, *, bleed_db: float, length_s: float = 30.0
) -> Recorded:
    """Return take ``number`` of a half; another ``bleed_db`` changes the loudspeaker's level only."""
    scene = scene_of(half, case, number, length_s)
    return mixed(scene, case, bleed_db=bleed_db)


def mixed(scene: Scene, case: Case, *, bleed_db: float) -> Recorded:
    """Return ``scene`` with its loudspeaker ``bleed_db`` over the median clap; peak 0.5."""
    rate = scene.rate
    strokes = [scene.played[int(t * rate) : int((t + 0.06) * rate)] for t in scene.onsets_s]
    size = float(np.median([np.abs(each).max() for each in strokes]))
    loud = float(np.median([np.sqrt(np.mean(each[: rate // 100] ** 2)) for each in strokes]))
    heard = scene.bleed * size * 10 ** (bleed_db / 20)
    heard = heard + loud * 10 ** (-case.noise_db / 20) * scene.noise
    if case.claps:
        heard = heard + scene.played
    heard *= 0.5 / np.abs(heard).max()
    sound = heard.astype(np.float32)
    clocks = (scene.delay_s, scene.skew_ppm)
    take = Recorded(sound, scene.track, rate, *clocks, (), scene.clicks_s)
    times_s = tuple(take.in_track_time(time) for time in scene.onsets_s) if case.claps else ()
    return Recorded(sound, scene.track, rate, *clocks, times_s, scene.clicks_s)


@lru_cache(maxsize=4)
def scene_of(half: str, case: Case, number: int, length_s: float = 30.0, again: int = 0) -> Scene:
    """Return take ``number`` of a half, not mixed yet.

    With ``again`` another track is played in the same room on the same devices, which were opened
    anew: their delay is up to 3 ms another, their clocks run as before to some millionths.
    """
    made = HALVES[half]
    rng = np.random.default_rng((made.seed, number, len(case.maker)))
    rate = int(rng.choice(made.rates))
    prompts, claps_s, clicks_s = _music(rng, case, length_s)
    other = np.random.default_rng((made.seed, number, again))
    if again:
        prompts, claps_s, clicks_s = _music(other, case, length_s)
    track = rendered(prompts, length_s, rate, str(rng.choice(made.languages)))
    skew_ppm, delay_s = float(rng.uniform(-450, 450)), float(rng.uniform(0.01, 0.25))
    rt60_s = float(rng.choice(made.rt60_s))
    if again:
        skew_ppm, delay_s = skew_ppm + other.normal(0, 2), delay_s + other.uniform(-0.003, 0.003)
    bleed = _bleed(rng, track, rate, case=case, rt60_s=rt60_s)
    bleed = _later(bleed, delay_s * rate, skew_ppm * 1e-6)
    bleed /= np.abs(bleed).max()
    heard_s = claps_s * (1 + skew_ppm * 1e-6) + delay_s
    played, onsets_s = _played(rng, half, case, heard_s, (len(bleed), rate, rt60_s))
    noise = pink_noise(rng, len(bleed))
    return Scene(bleed, played, noise, track, rate, delay_s, skew_ppm, tuple(onsets_s), clicks_s)


def rendered(
    prompts: list[Prompt], length_s: float, rate: int, language: str
) -> NDArray[np.float32]:
    """Return the track of ``prompts``, mono, as it leaves the machine."""
    keys = {each.text for each in prompts if each.layer is Layer.COUNT}
    words = load_words(language, keys, rate=rate)
    blocks = track_blocks(plan(prompts, length_s), words, rate, channels=1)
    return joined(list(blocks))[: round(length_s * rate), 0].copy()


def _music(
    rng: Random, case: Case, length_s: float
) -> tuple[list[Prompt], NDArray[np.float64], tuple[float, ...]]:
    """Return prompts, when claps are meant, and when clicks sound: a bar counted, then figures."""
    beat_s = 60 / float(rng.uniform(66, 112))
    prompts: list[Prompt] = []
    claps, clicks = [], []
    for beat in range(int((length_s - BEFORE_S - 1.0) / beat_s)):
        at = BEFORE_S + beat * beat_s
        clicks.append(at)
        text = "downbeat" if beat % COUNT_IN == 0 else "beat"
        prompts.append(prompt(at, Layer.CLICK, text))
        prompts.append(prompt(at, Layer.COUNT, str(beat % COUNT_IN + 1)))
        if beat < COUNT_IN:
            continue
        figure = ((0.0,), (0.0, 0.5), (0.5,), (), (0.0, 0.75), (0.25, 0.5))[int(rng.integers(6))]
        for share in figure:
            claps.append(at + share * beat_s)
            pitch = 60 + int(rng.integers(14))
            prompts.append(
                prompt(claps[-1], Layer.TUNE, "note", length_s=0.4 * beat_s, pitches=(pitch,))
            )
    kept = [each for each in prompts if each.layer.value in case.layers]
    times = np.array(claps) - rng.uniform(0, 0.03) + rng.normal(0, 0.012, len(claps))
    return sorted(kept, key=lambda each: each.time_s), times, tuple(clicks)


def _bleed(
    rng: Random, track: NDArray[np.float32], rate: int, *, case: Case, rt60_s: float
) -> Sound:
    """Return what of ``track`` reaches the microphone, direct sound at sample 0, no delay yet."""
    sound = np.concatenate([track.astype(np.float64), np.zeros(rate)])
    low, high = rng.uniform(80, 250), rng.uniform(9_000, 14_000)
    sound = sosfilt(butter(2, (low, high), "band", fs=rate, output="sos"), sound)
    sound /= np.abs(sound).max()
    if case.compressor:
        sound = compressed(sound, rate, ratio=float(rng.uniform(2.5, 5)), rng=rng)
    drive = case.overload * float(rng.uniform(0.8, 1.4))
    sound = np.tanh(drive * sound) / drive
    first = room(rng, rate, rt60_s=rt60_s, ratio_db=float(rng.uniform(0, 8)))
    wet = fftconvolve(sound, first)[: len(sound)]
    place = np.arange(len(sound)) / len(sound)
    if case.changing:
        other = room(rng, rate, rt60_s=rt60_s, ratio_db=float(rng.uniform(0, 8)))
        share = np.clip(place * 3 - 1, 0, 1)
        wet = (1 - share) * wet + share * fftconvolve(sound, other)[: len(sound)]
    if case.drifting:
        turns, phase = rng.uniform(1.0, 2.5), rng.uniform(0, 6.28)
        wet *= 10 ** (6 / 20 * np.sin(2 * np.pi * turns * place + phase))
    if case.swaying:
        wet = _swaying(rng, wet, rate)
    arrived: Sound = wet
    return arrived


def compressed(
    sound: Sound, rate: int, *, ratio: float, rng: Random, threshold_db: float = -18.0
) -> Sound:
    """Return ``sound`` (peak 1) through a compressor: attack 2 to 10 ms, release 80 to 250 ms."""
    attack, release = rng.uniform(0.002, 0.010), rng.uniform(0.08, 0.25)
    step = rate // 2000
    size = np.abs(sound)[: len(sound) // step * step].reshape(-1, step).max(axis=1)
    level, levels = 0.0, np.empty(len(size))
    rise, fall = 1 - np.exp(-step / (attack * rate)), 1 - np.exp(-step / (release * rate))
    for place, value in enumerate(size):
        level += (rise if value > level else fall) * (value - level)
        levels[place] = level
    over_db = np.maximum(20 * np.log10(np.maximum(levels, 1e-6)) - threshold_db, 0)
    gain = 10 ** (-over_db * (1 - 1 / ratio) / 20)
    smooth = np.interp(np.arange(len(sound)) / step, np.arange(len(gain)) + 0.5, gain)
    squeezed = sound * smooth
    even: Sound = squeezed / np.abs(squeezed).max()
    return even


def room(rng: Random, rate: int, *, rt60_s: float, ratio_db: float) -> Sound:
    """Return a response: direct at 0, eight early reflections, a tail; energy direct over rest."""
    time = np.arange(int(1.2 * rt60_s * rate)) / rate
    tail = rng.standard_normal(time.size) * 10 ** (-3 * time / rt60_s) * (time > 0.008)
    tail = lfilter(*butter(1, 7000 / (rate / 2)), tail)
    tail *= 1 / np.sqrt(np.sum(tail**2))
    early = np.zeros(time.size)
    for place in rng.uniform(0.001, 0.03, 8):
        early[int(place * rate)] += (
            rng.choice((-1, 1)) * rng.uniform(0.3, 1) * np.exp(-place / 0.02)
        )
    rest: Sound = tail + 0.7 * early / np.sqrt(np.sum(early**2))
    rest *= 10 ** (-ratio_db / 20) / np.sqrt(np.sum(rest**2))
    rest[0] += 1.0
    return rest


def _swaying(rng: Random, wet: Sound, rate: int) -> Sound:
    """Return ``wet`` as a hand-held microphone hears it: 1.5 cm and 1 dB to and fro."""
    time = np.arange(len(wet)) / rate
    sway = np.sin(2 * np.pi * rng.uniform(0.2, 0.5) * time + rng.uniform(0, 6.28))
    moved = read_at(wet, np.arange(len(wet)) - 0.015 / 343 * rate * (1 + sway))
    swayed: Sound = moved * 10 ** (sway / 20)
    return swayed


def _later(sound: Sound, by: float, skew: float) -> Sound:
    """Return ``sound`` by ``by`` samples later on a clock on which it lasts 1 + ``skew`` longer."""
    length = int(len(sound) * (1 + abs(skew)) + by) + 1
    return read_at(sound, (np.arange(length) - by) / (1 + skew))


def read_at(sound: Sound, places: NDArray[np.floating], reach: int = 24) -> Sound:
    """Return ``sound`` at fractional ``places`` by a windowed sinc; silence outside."""
    whole = np.floor(places).astype(np.int64)
    part = places - whole
    padded = np.pad(sound, reach + 1)
    total = np.zeros(len(places))
    for step in range(-reach + 1, reach + 1):
        away = part - step
        taper = np.cos(np.pi * away / (2 * (reach + 1))) ** 2
        index = np.clip(whole + step, -reach, len(sound) + reach - 1) + reach + 1
        total += np.sinc(away) * taper * padded[index]
    return total


def _played(
    rng: Random,
    half: str,
    case: Case,
    claps_s: NDArray[np.float64],
    shape: tuple[int, int, float],
) -> tuple[Sound, list[float]]:
    """Return the player's sound and when in the recording each stroke truly starts."""
    length, rate, rt60_s = shape
    makers: dict[str, Maker] = {"clap": HALVES[half].clap, "tap": tap, "syllable": syllable}
    dry = np.zeros(length + 2 * rate)
    onsets = []
    for time in claps_s:
        stroke = makers[case.maker](rng, rate) * 10 ** (-rng.uniform(0, 6) / 20)
        place = int(time * rate)
        dry[place : place + len(stroke)] += stroke
        onsets.append((place + onset_sample(stroke)) / rate)
    ratio_db = float(rng.uniform(3, 12))
    if half == "tune":
        response = room(rng, rate, rt60_s=rt60_s, ratio_db=ratio_db)
    else:
        response = sparse_room(rng, rate, ratio_db=ratio_db)
    return fftconvolve(dry, response)[:length], onsets
