"""How exactly slowed recordings keep their onsets: ``python -m tests.simulate.stretch_table``.

Clicks: the largest error.  Piano and voice: how many onsets lie more than 10 ms from their exact
scaled second, and the median error.  Seeds are held out: nothing was chosen on them.  The others
stand beside it in the same run: librosa's phase vocoder, and python-stretch where it is installed.
Then how far the channels of stereo images are from as like as they should be at half speed, and how
far they would be with nothing mixed back.  The last line tells of time and memory.
"""

import time
import tracemalloc
from collections.abc import Callable, Iterator
from importlib import import_module
from importlib.util import find_spec

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.render.attacks import find_attacks
from rhythmtrain.render.elastic import elastic
from rhythmtrain.render.stretch import laid_down, stretched
from tests.simulate.pianos import RATE
from tests.simulate.slow_sounds import (
    TOLERANCE_S,
    Slowable,
    click_errors_s,
    clicks,
    onset_errors_s,
    piano,
    voice,
)
from tests.simulate.stereo_images import IMAGES, likeness, stereo, wanted_likeness

Sound = NDArray[np.float32]
SPEEDS = (0.4, 0.5, 0.6, 0.75, 0.9, 1.1, 1.2)
IMAGE_SEEDS = (9421, 9422, 9423)
PIANO_SEEDS, APART_SEEDS, VOICE_SEEDS = (9301, 9302, 9303), (9321, 9322), (9331, 9332)
BLOCK = 65_536


def ours(sound: Sound, rate: int, speed: float) -> Sound:
    """Return ``sound`` at ``speed`` by this package."""
    columns = sound.reshape(len(sound), -1)
    blocks = [columns[start : start + BLOCK] for start in range(0, len(columns), BLOCK)]
    length = len(sound) / rate
    by = elastic(((0.0, 0.0), (length, length / speed)), find_attacks(blocks, rate))
    done: Sound = np.concatenate(list(stretched(blocks, rate, by)))
    return done[:, 0] if sound.ndim == 1 else done


def by_librosa(sound: Sound, _rate: int, speed: float) -> Sound:
    """Return ``sound`` at ``speed`` by librosa's phase vocoder."""
    made: Sound = import_module("librosa").effects.time_stretch(sound, rate=speed)
    return made


def by_python_stretch(sound: Sound, rate: int, speed: float) -> Sound:
    """Return ``sound`` at ``speed`` by python-stretch."""
    processor = import_module("python_stretch").Signalsmith.Stretch(1)
    processor.preset(1, rate)
    processor.setTimeFactor(speed)
    made: Sound = processor.process(sound[None])[0]
    return made


Method = Callable[[Sound, int, float], Sound]


def piece_errors(method: Method, pieces: list[Slowable], speed: float) -> NDArray[np.float64]:
    """Return the errors of all onsets of ``pieces`` at ``speed``."""
    found = [
        onset_errors_s(
            method(each.make(1.0), each.rate, speed),
            each.make(speed),
            each.rate,
            each.onsets_s / speed,
        )
        for each in pieces
    ]
    return np.concatenate(found)


def main() -> None:
    """Print the table."""
    methods: dict[str, Method] = {"rhythmtrain": ours, "librosa": by_librosa}
    if find_spec("python_stretch"):
        methods["python-stretch"] = by_python_stretch
    sets = {
        "piano": [piano(seed) for seed in PIANO_SEEDS],
        "hands apart 8 ms": [piano(seed, apart_s=0.008) for seed in APART_SEEDS],
        "voice": [voice(seed) for seed in VOICE_SEEDS],
    }
    print(f"{'':16}{'speed':>6}{'clicks, worst ms':>18}", *(f"{name:>22}" for name in sets))  # noqa: T201
    sound, at_s = clicks(17, 44_100)
    own = click_errors_s(sound, 44_100, at_s)
    for name, method in methods.items():
        for speed in SPEEDS:
            slow = method(sound, 44_100, speed)
            worst = np.abs(click_errors_s(slow, 44_100, at_s / speed, first=own)).max()
            cells = []
            for pieces in sets.values():
                errors = np.abs(piece_errors(method, pieces, speed))
                off = int((errors > TOLERANCE_S).sum())
                cells.append(f"{off:>6} of {errors.size:>3}, {1000 * np.median(errors):4.1f} ms")
            print(f"{name:16}{speed:6.2f}{1000 * worst:18.2f}", *(f"{c:>22}" for c in cells))  # noqa: T201
    _images()
    _long_ones()


def _images() -> None:
    """Print for each kind of image the largest error of the channels' correlation."""
    for kind in IMAGES:
        errors = []
        for seed in IMAGE_SEEDS:
            sound = stereo(kind, seed)
            length = len(sound) / RATE
            by = elastic(((0.0, 0.0), (length, 2 * length)), find_attacks([sound], RATE))
            goal = wanted_likeness(sound, by)
            slow = np.concatenate(list(stretched([sound], RATE, by)))
            bare = np.concatenate([each.sound for each in laid_down([sound], RATE, by)])
            errors.append([abs(likeness(each) - goal) for each in (slow, bare)])
        worst = np.max(errors, axis=0)
        print(f"{kind:16} image {worst[0]:.4f}, nothing mixed back {worst[1]:.4f}")  # noqa: T201


def _long_ones() -> None:
    """Slow three minutes of stereo noise, made as they are read; tell the time and the memory."""

    def parts() -> Iterator[Sound]:
        rng = np.random.default_rng(1)
        for _ in range(180 * 44_100 // BLOCK):
            yield rng.normal(0, 0.1, (BLOCK, 2)).astype(np.float32)

    def slow() -> float:
        begun = time.perf_counter()
        attacks = find_attacks(parts(), 44_100)
        for _ in stretched(parts(), 44_100, elastic(((0.0, 0.0), (180.0, 360.0)), attacks)):
            pass
        return time.perf_counter() - begun

    took = slow()
    tracemalloc.start()
    slow()
    most = tracemalloc.get_traced_memory()[1] / 1e6
    print(f"3 min of stereo at half speed: {180 / took:.0f} times real time, {most:.0f} MB at most")  # noqa: T201


if __name__ == "__main__":
    main()
