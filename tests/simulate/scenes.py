"""The sets of recordings on which onset detection is measured, by name.

Every set is a function of a seeded generator and a number of takes.  ``HELD_OUT`` sets use the
other synthesis formula and rooms; nothing in the detector was chosen on them.
"""

from collections.abc import Callable

import numpy as np

from tests.simulate.sounds import (
    Maker,
    Scene,
    bowed_note,
    clap,
    engine_hum,
    grain_clap,
    perform,
    pink_noise,
    reed_note,
    small_room,
    soft_tap,
    sparse_room,
    syllable,
    talk,
    tap,
    uneven_times,
    white_noise,
    with_noise,
)

Set = Callable[[np.random.Generator], Scene]
RATES = (44100, 48000)
STROKES = 24


def hands(
    maker: Maker, *, snr_db: tuple[float, float], ratio_db: tuple[float, float] = (-6, 12)
) -> Set:
    """Return a set of strokes in small rooms under white or pink noise."""

    def scene(rng: np.random.Generator) -> Scene:
        rate = int(rng.choice(RATES))
        room = small_room(rng, rate, ratio_db=rng.uniform(*ratio_db))
        played = perform(rng, maker, uneven_times(rng, STROKES), rate=rate, room=room)
        n = played.sound.size
        noise = white_noise(rng, n) if rng.random() < 0.5 else pink_noise(rng, n)
        return with_noise(played, noise, snr_db=rng.uniform(*snr_db))

    return scene


def notes(maker: Maker, *, snr_db: tuple[float, float] = (25, 45)) -> Set:
    """Return a set of notes or syllables that follow each other with small gaps."""

    def scene(rng: np.random.Generator) -> Scene:
        rate = int(rng.choice(RATES))
        room = small_room(rng, rate, ratio_db=rng.uniform(3, 15))
        times = uneven_times(rng, STROKES, shortest_s=0.25, longest_s=0.7)
        played = perform(rng, maker, times, rate=rate, room=room)
        return with_noise(played, pink_noise(rng, played.sound.size), snr_db=rng.uniform(*snr_db))

    return scene


def beside_talk(rng: np.random.Generator) -> Scene:
    """Return claps while somebody talks further away, 16 to 26 dB softer."""
    played = hands(clap, snr_db=(35, 45))(rng)
    return with_noise(played, talk(rng, played.sound.size, played.rate), snr_db=rng.uniform(16, 26))


def beside_road(rng: np.random.Generator) -> Scene:
    """Return claps and soft taps over the hum of a distant car, 0 to 10 dB softer."""
    played = hands(tap, snr_db=(35, 45))(rng)
    return with_noise(
        played, engine_hum(rng, played.sound.size, played.rate), snr_db=rng.uniform(0, 10)
    )


def held_out(*, snr_db: tuple[float, float]) -> Set:
    """Return claps of the other formula in the other rooms."""

    def scene(rng: np.random.Generator) -> Scene:
        rate = int(rng.choice((32000, 44100, 48000)))
        room = sparse_room(rng, rate, ratio_db=rng.uniform(-6, 12))
        times = uneven_times(rng, STROKES, shortest_s=0.12, longest_s=0.9)
        played = perform(rng, grain_clap, times, rate=rate, room=room, spread_db=8)
        n = played.sound.size
        noise = white_noise(rng, n) + pink_noise(rng, n)
        return with_noise(played, noise, snr_db=rng.uniform(*snr_db))

    return scene


SETS: dict[str, tuple[Set, str]] = {
    "claps, 10-40 dB": (hands(clap, snr_db=(10, 40)), "claps"),
    "sharp taps, 10-40 dB": (hands(tap, snr_db=(10, 40)), "claps"),
    "claps, 0-5 dB": (hands(clap, snr_db=(0, 5)), "claps"),
    "sharp taps, 0-5 dB": (hands(tap, snr_db=(0, 5)), "claps"),
    "soft hand taps": (hands(soft_tap, snr_db=(15, 40)), "claps"),
    "claps beside talk": (beside_talk, "claps"),
    "taps beside a road": (beside_road, "claps"),
    "syllables": (notes(syllable), "voice"),
    "reed notes": (notes(reed_note), "wind"),
    "bowed notes": (notes(bowed_note), "strings"),
}
HELD_OUT: dict[str, tuple[Set, str]] = {
    "held out, 10-40 dB": (held_out(snr_db=(10, 40)), "claps"),
    "held out, 0-5 dB": (held_out(snr_db=(0, 5)), "claps"),
}


def takes(name: str, count: int, *, seed: int) -> list[Scene]:
    """Return ``count`` takes of the set ``name``, the same for the same ``seed``."""
    recipe, _ = {**SETS, **HELD_OUT}[name]
    return [recipe(np.random.default_rng([seed, i, len(name)])) for i in range(count)]
