"""A track through simpleaudio, played for real: heard by a recorder at a PulseAudio null sink."""

import json
import subprocess
import sys
import time
from importlib.util import find_spec
from pathlib import Path

import numpy as np
import pytest

from tests.real.child_simple import CLICKS_S
from tests.real.servers import RATE, Server

ROOT = Path(__file__).parents[2]
WAIT_S = 240.0
if find_spec("simpleaudio") is None:
    pytest.skip(
        "simpleaudio is not installed: pip install '.[simpleaudio]' (Python 3.11, with a compiler "
        "and libasound2-dev)",
        allow_module_level=True,
    )


def _clicks_s(heard: bytes) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """Return when clicks begin in 16-bit samples of one channel."""
    sound = np.abs(np.frombuffer(heard, "<i2").astype(np.float64))
    loud = np.flatnonzero(sound > 0.3 * sound.max())
    first = np.r_[True, np.diff(loud) > RATE // 20]
    return np.asarray(loud[first] / RATE)


def test_a_track_is_played_whole_and_in_time(pulse_server: Server) -> None:
    """Without PortAudio one still hears every click where it belongs, and the end is told."""
    recording = ["pacat", "--record", "--raw", "--format=s16le", f"--rate={RATE}"]
    with subprocess.Popen(
        [*recording, "--channels=1", "--latency-msec=10"],
        env=dict(pulse_server.env), stdout=subprocess.PIPE,
    ) as recorder:  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-m", "tests.real.child_simple"], cwd=ROOT,
            env=dict(pulse_server.env), capture_output=True, text=True, check=False, timeout=WAIT_S,
        )  # fmt: skip
        time.sleep(0.5)
        recorder.terminate()
        heard, _ = recorder.communicate(timeout=WAIT_S)
    assert done.returncode == 0, done.stdout + done.stderr[-800:]
    assert json.loads(done.stdout)["ended"] == "finished"
    clicks_s = _clicks_s(heard)
    assert len(clicks_s) == len(CLICKS_S)
    off_ms = (np.diff(clicks_s) - np.diff(CLICKS_S)) * 1e3
    print(f"clicks apart: at most {np.abs(off_ms).max():.3f} ms off")
    assert np.abs(off_ms).max() < 1.0
