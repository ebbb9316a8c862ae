"""How fast ten minutes of clicks become sound, against mir_eval.sonify.clicks in the same run.

Run with ``pytest -m bench tests/bench/test_bench_render.py`` and compare the rows: the mix alone,
the mix into a WAV file, and the same by mir_eval (one channel of an array; two channels to WAV).
"""

import subprocess
import sys
from collections import deque
from collections.abc import Callable
from pathlib import Path

import mir_eval
import numpy as np
import pytest
import soundfile
from pytest_benchmark.fixture import BenchmarkFixture

from rhythmtrain.prompts.plan import Plan
from rhythmtrain.render.mixer import render_blocks
from rhythmtrain.render.track import placed_sounds, track_blocks
from rhythmtrain.storage.audio_files import write_audio
from tests.simulate.plans import plan, prompt

RATE, SECONDS = 48_000, 600
TIMES = np.arange(0, SECONDS, 0.5)
MOST_MEMORY_MB = 60


def ten_minutes() -> Plan:
    """Return 1200 clicks at 120 beats a minute."""
    return plan([prompt(float(at)) for at in TIMES], float(SECONDS))


def with_mir_eval(path: Path) -> None:
    """Make the same stereo file as one does with mir_eval and soundfile."""
    path.unlink(missing_ok=True)
    clicks = mir_eval.sonify.clicks(TIMES, RATE, length=SECONDS * RATE)
    soundfile.write(path, np.column_stack([clicks, clicks]), RATE, "PCM_16")


def with_our_own(path: Path) -> None:
    """Make the track as the program does."""
    path.unlink(missing_ok=True)
    write_audio(path, track_blocks(ten_minutes(), {}, RATE), RATE, title="Clicks", comment="")


def timed(benchmark: BenchmarkFixture, work: Callable[[], object]) -> None:
    """Time ``work`` a few times; the least is what the machine can do when left alone."""
    benchmark.pedantic(work, rounds=7)  # type: ignore[no-untyped-call]


@pytest.mark.bench
@pytest.mark.benchmark(group="ten minutes of stereo, 48 kHz")
def test_mixing(benchmark: BenchmarkFixture) -> None:
    """Every sample of the stereo mix, block by block, not kept."""

    def mix() -> None:
        sounds = placed_sounds(ten_minutes(), {}, RATE)
        deque(render_blocks(sounds, SECONDS * RATE), maxlen=0)

    timed(benchmark, mix)


@pytest.mark.bench
@pytest.mark.benchmark(group="ten minutes of stereo, 48 kHz")
def test_mixing_into_a_wav(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    """Planned, mixed, its true peak found, written."""
    timed(benchmark, lambda: with_our_own(tmp_path / "own.wav"))


@pytest.mark.bench
@pytest.mark.benchmark(group="ten minutes of stereo, 48 kHz")
def test_mir_eval_into_an_array(benchmark: BenchmarkFixture) -> None:
    """One channel of float64 in memory."""
    timed(benchmark, lambda: mir_eval.sonify.clicks(TIMES, RATE, length=SECONDS * RATE).sum())


@pytest.mark.bench
@pytest.mark.benchmark(group="ten minutes of stereo, 48 kHz")
def test_mir_eval_into_a_wav(benchmark: BenchmarkFixture, tmp_path: Path) -> None:
    """Both channels, written at once."""
    timed(benchmark, lambda: with_mir_eval(tmp_path / "other.wav"))


MEMORY = """
import sys
from pathlib import Path
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.render.track import track_blocks
from rhythmtrain.storage.audio_files import write_audio
from tests.simulate.plans import plan, prompt

prompts = [prompt(n / 2, Layer.CLICK) for n in range(1200)]
prompts += [prompt(n / 2, Layer.CLAP, "note") for n in range(1200)]
prompts += [prompt(n, Layer.TUNE, "note", length_s=1.0, pitches=(60 + n % 12,)) for n in range(600)]
blocks = track_blocks(plan(prompts, 600.0), {}, 48_000)
write_audio(Path(sys.argv[1]), blocks, 48_000, title="", comment="")
assert "scipy" not in sys.modules
# The most this program has held; what getrusage says includes the process that started it.
held = next(line for line in Path("/proc/self/status").read_text().splitlines() if "VmHWM" in line)
print(int(held.split()[1]) / 1024)
"""


@pytest.mark.long
@pytest.mark.parametrize("ending", [".wav", ".flac", ".ogg", ".mp3"])
def test_ten_minutes_fit_into_60_mb(tmp_path: Path, ending: str) -> None:
    """A whole process, interpreter and libraries included, on a small machine."""
    program = [sys.executable, "-c", MEMORY, str(tmp_path / f"track{ending}")]
    run = subprocess.run(
        program, capture_output=True, text=True, check=True, cwd=Path(__file__).parents[2]
    )
    assert float(run.stdout) <= MOST_MEMORY_MB
