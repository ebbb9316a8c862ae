"""Lines of one player who holds notes: slurred, tongued, detached, or long with vibrato and swells.

Unlike the notes of ``sounds``, which sound into one another, a note ends where the next begins:
slurred ones within 10 to 30 ms, tongued ones a little before it, some on the same pitch.  Breath is
drawn, keys and the bow are heard shortly before entries, as near as 0.12 s; keys tick along.

The half ``"tune"`` adds harmonics with an attack of their own each; ``"held out"`` lets pulses sound
through a body of resonances, in the other rooms, so that nothing of the formula is shared.
"""

from dataclasses import dataclass

import numpy as np
from scipy.signal import fftconvolve, lfilter

from tests.simulate.own_noises import bow_placed, breath, key_click, sniff
from tests.simulate.sounds import (
    Scene,
    Sound,
    onset_sample,
    pink_noise,
    small_room,
    sparse_room,
)

Random = np.random.Generator
STYLES = ("slurred", "tongued", "detached", "long")
LENGTHS_S = (0.16, 0.2, 0.25, 0.33, 0.4, 0.5, 0.8)
NOTES, LONG_NOTES = 24, 9
RATES = (44_100, 48_000)


@dataclass(frozen=True, slots=True)
class Player:
    """How one player's notes sound: harmonics, attack, and how far vibrato goes."""

    lowest_hz: float
    even: float
    slope: float
    attack_s: tuple[float, float]
    wide: float
    deep: float
    noises: tuple[str, ...]


PLAYERS = {
    "reed": Player(147, 0.08, 1.1, (0.012, 0.05), 0.0, 0.08, ("breath", "sniff", "key")),
    "flute": Player(262, 0.5, 1.7, (0.02, 0.07), 0.003, 0.45, ("breath", "sniff", "key")),
    "brass": Player(117, 1.0, 0.7, (0.012, 0.04), 0.002, 0.15, ("breath", "sniff")),
    "bow": Player(196, 1.0, 0.9, (0.02, 0.08), 0.008, 0.2, ("sniff", "bow")),
}
NOISES = {"breath": breath, "sniff": sniff, "key": key_click, "bow": bow_placed}


def note_line(half: str, name: str, style: str, number: int) -> Scene:
    """Return line ``number`` of the player ``name`` in ``style``, with its true onsets."""
    player = PLAYERS[name]
    which = [sum(map(ord, text)) for text in (half, name, style)]
    rng = np.random.default_rng((57, number, *which))
    rate = int(rng.choice(RATES))
    meant = _meant(rng, style)
    length = int((meant[-1][0] + meant[-1][1] + 0.8) * rate)
    dry = np.zeros(length)
    onsets = []
    vibrato = float(rng.uniform(0, 1)) if rng.random() < 0.7 else 0.0
    loud = 1.0
    for begin_s, length_s, step, _ in meant:
        pitch = player.lowest_hz * 2 ** (step / 12)
        shape = _shape(rng, style, length_s, rate)
        note = _tone(rng, player, pitch, (shape.size, rate), vibrato=vibrato, half=half) * shape
        loud = float(np.clip(loud * 10 ** (rng.uniform(-3, 3) / 20), 0.4, 1.0))
        place = int((begin_s + rng.normal(0, 0.008)) * rate)
        end = min(length, place + note.size)
        dry[place:end] += loud * (note / np.abs(note).max())[: end - place]
        onsets.append((place + onset_sample(note)) / rate)
    made = small_room if half == "tune" else sparse_room
    sound = fftconvolve(dry / np.abs(dry).max(), made(rng, rate, ratio_db=rng.uniform(0, 12)))
    sound = sound[:length] + _noises(rng, player, meant, (length, rate))
    sound += 0.25 * 10 ** (-rng.uniform(30, 50) / 20) * pink_noise(rng, length)
    return Scene(0.5 * sound / np.abs(sound).max(), rate, tuple(sorted(onsets)))


def _meant(rng: Random, style: str) -> list[tuple[float, float, int, bool]]:
    """Return begin, length, semitones over the lowest note, and whether a rest comes before it."""
    time, step = 0.7, int(rng.integers(0, 24))
    pace = float(rng.uniform(0.75, 1.6))
    meant, rested = [], True
    for _ in range(LONG_NOTES if style == "long" else NOTES):
        length = rng.uniform(1, 3) if style == "long" else pace * float(rng.choice(LENGTHS_S))
        meant.append((time, float(length), step, rested))
        if style == "slurred" or rng.random() < 0.7:
            step = _next_step(rng, step)
        rested = bool(rng.random() < 0.12)
        time += float(length) + (float(rng.uniform(0.5, 1.2)) if rested else 0.0)
    return meant


def _next_step(rng: Random, step: int) -> int:
    """Return another pitch, mostly near, within two octaves."""
    reach = 4 if rng.random() < 0.8 else 12
    near = [s for s in range(max(0, step - reach), min(24, step + reach) + 1) if s != step]
    return int(rng.choice(near))


def _shape(rng: Random, style: str, length_s: float, rate: int) -> Sound:
    """Return how loud a note is from its begin to where it has died away."""
    held_s = {
        "slurred": length_s,
        "tongued": length_s - rng.uniform(0.01, 0.05),
        "detached": length_s * rng.uniform(0.35, 0.7),
        "long": 0.97 * length_s,
    }[style]
    ends_s = rng.uniform(0.01, 0.03) if style == "slurred" else rng.uniform(0.02, 0.07)
    t = np.arange(int((held_s + ends_s) * rate)) / rate
    shape = 0.5 + 0.5 * np.cos(np.pi * np.clip((t - held_s) / ends_s, 0, 1))
    if style == "long":
        swell = ((1, 1), (0.3, 1), (1, 0.3), (0.35, 1, 0.35))[int(rng.integers(4))]
        shape = shape * np.interp(t / t[-1], np.linspace(0, 1, len(swell)), swell)
    return shape


def _tone(
    rng: Random,
    player: Player,
    pitch: float,
    shape: tuple[int, int],
    *,
    vibrato: float,
    half: str,
) -> Sound:
    """Return a held tone of ``shape`` samples, samples a second, with its attack."""
    count, rate = shape
    t = np.arange(count) / rate
    attack_s = rng.uniform(*player.attack_s)
    turn = np.sin(2 * np.pi * (rng.uniform(4, 6.5) * t + rng.random()))
    turn *= np.minimum(1, np.maximum(0, t - 0.15) / 0.3)
    wave = np.cumsum(pitch * (1 + vibrato * player.wide * turn)) / rate
    sounding = _harmonics if half == "tune" else _pulses
    tone = sounding(rng, player, (wave, t), attack_s=attack_s, rate=rate)
    return tone * (1 + vibrato * player.deep * turn)


def _harmonics(
    rng: Random, player: Player, at: tuple[Sound, Sound], *, attack_s: float, rate: int
) -> Sound:
    """Return harmonics that arrive one after the other."""
    wave, t = at
    pitch = (wave[-1] - wave[0]) / max(t[-1], 1e-3)
    tone = 0.02 * rng.standard_normal(t.size) * np.minimum(1, t / 0.01)
    for k in range(1, int(min(20, 0.45 * rate / pitch)) + 1):
        late = np.minimum(1, t / (attack_s * (1 + 0.1 * k))) ** 1.5
        size = (player.even if k % 2 == 0 else 1.0) / k**player.slope * rng.uniform(0.6, 1.4)
        tone += size * late * np.sin(2 * np.pi * k * wave)
    return tone


def _pulses(
    rng: Random, player: Player, at: tuple[Sound, Sound], *, attack_s: float, rate: int
) -> Sound:
    """Return pulses through three resonances; a reed's come upright and upside down by turns."""
    wave, t = at
    tone = np.diff(np.floor(wave), prepend=0.0)
    tone -= (1 - player.even) * np.diff(np.floor(wave + 0.5), prepend=0.0)
    tone += 0.01 * rng.standard_normal(t.size)
    tone = lfilter([1.0], [1.0, -0.9 - 0.04 * player.slope], tone)
    for centre in rng.uniform((300, 900, 2000), (700, 1800, 3500)):
        tone = tone + 1.5 * _resonance(tone, centre, 5.0, rate)
    rise: Sound = 1 - np.exp(-((t / (0.5 * attack_s)) ** 1.5))
    upright: Sound = lfilter([1.0, -1.0], [1.0, -0.995], tone) * rise
    return upright


def _resonance(sound: Sound, centre: float, quality: float, rate: int) -> Sound:
    turn = 2 * np.pi * centre / rate
    alpha = np.sin(turn) / (2 * quality)
    ring: Sound = lfilter(
        [alpha / (1 + alpha), 0.0, -alpha / (1 + alpha)],
        [1.0, -2 * np.cos(turn) / (1 + alpha), (1 - alpha) / (1 + alpha)],
        sound,
    )
    return ring


def _noises(
    rng: Random,
    player: Player,
    meant: list[tuple[float, float, int, bool]],
    shape: tuple[int, int],
) -> Sound:
    """Return the noises shortly before entries, and keys that tick along softly."""
    length, rate = shape
    line = np.zeros(length + rate)
    for begin_s, _, _, rested in meant:
        if rested:
            name = player.noises[int(rng.integers(len(player.noises)))]
            noise = NOISES[name](rng, rate) * 10 ** (rng.uniform(-26, -12) / 20)
            place = int((begin_s - rng.uniform(0.12, 0.5)) * rate)
            line[place : place + noise.size] += noise
        if "key" in player.noises and rng.random() < 0.6:
            noise = key_click(rng, rate) * 10 ** (rng.uniform(-45, -30) / 20)
            place = int((begin_s + rng.normal(0, 0.01)) * rate)
            line[place : place + noise.size] += noise
    return line[:length]
