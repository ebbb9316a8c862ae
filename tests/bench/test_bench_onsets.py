"""How fast onsets are found in a minute of sound, decoding included, against librosa's superflux.

``pytest -m bench tests/bench/test_bench_onsets.py`` prints both in one run.
"""

import io
import time
from collections.abc import Callable

import numpy as np
import pytest
import soundfile
from pytest_benchmark.fixture import BenchmarkFixture

from rhythmtrain.hearing.onsets.onsets import find_onsets
from tests.simulate.sounds import clap, perform, pink_noise, uneven_times, with_noise
from tests.simulate.superflux import superflux

pytestmark = pytest.mark.bench
RATE = 44100
MINUTE_S = 60


@pytest.fixture(scope="module")
def minute() -> bytes:
    """Return a WAV file of a minute of claps in pink noise."""
    rng = np.random.default_rng(1)
    times = uneven_times(rng, 400, shortest_s=0.15, longest_s=0.6)
    played = perform(rng, clap, times[times < MINUTE_S - 1.1])
    scene = with_noise(played, pink_noise(rng, played.sound.size), snr_db=25)
    file = io.BytesIO()
    soundfile.write(file, np.resize(scene.sound, MINUTE_S * RATE), RATE, format="WAV")
    return file.getvalue()


def ours(file: bytes) -> int:
    """Return how many onsets are found, reading the file."""
    sound, rate = soundfile.read(io.BytesIO(file), dtype="float32")
    return len(find_onsets(sound, rate))


def theirs(file: bytes) -> int:
    """Return how many onsets superflux finds, reading the file."""
    sound, rate = soundfile.read(io.BytesIO(file), dtype="float32")
    return len(superflux(sound, rate))


@pytest.mark.parametrize("finder", [ours, theirs], ids=["rhythmtrain", "superflux"])
def test_a_minute_of_claps(
    benchmark: BenchmarkFixture, minute: bytes, finder: Callable[[bytes], int]
) -> None:
    """Checking a take should feel immediate."""
    finder(minute)
    assert benchmark(finder, minute) > 100


def test_hearing_is_faster_than_superflux_and_120_times_real_time(minute: bytes) -> None:
    """Both in one process, turn by turn, the best of five."""
    spent: dict[str, list[float]] = {"ours": [], "theirs": []}
    theirs(minute)
    for _ in range(5):
        for name, finder in (("ours", ours), ("theirs", theirs)):
            begin = time.perf_counter()
            finder(minute)
            spent[name].append(time.perf_counter() - begin)
    assert min(spent["ours"]) < min(spent["theirs"])
    assert MINUTE_S / min(spent["ours"]) >= 120
