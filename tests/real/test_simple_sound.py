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
ATTEMPTS, MOST_OFF_MS = 5, 1.0
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


def _heard_s(server: Server) -> "np.ndarray[tuple[int], np.dtype[np.float64]]":
    """Play the track, and return when its clicks are heard."""
    recording = ["pacat", "--record", "--raw", "--format=s16le", f"--rate={RATE}"]
    with subprocess.Popen(
        [*recording, "--channels=1", "--latency-msec=10"],
        env=dict(server.env), stdout=subprocess.PIPE,
    ) as recorder:  # fmt: skip
        done = subprocess.run(
            [sys.executable, "-m", "tests.real.child_simple"], cwd=ROOT,
            env=dict(server.env), capture_output=True, text=True, check=False, timeout=WAIT_S,
        )  # fmt: skip
        time.sleep(0.5)
        recorder.terminate()
        heard, _ = recorder.communicate(timeout=WAIT_S)
    assert done.returncode == 0, done.stdout + done.stderr[-800:]
    assert json.loads(done.stdout)["ended"] == "finished"
    return _clicks_s(heard)


def test_a_track_is_played_whole_and_in_time(pulse_server: Server) -> None:
    """Without PortAudio one still hears every click where it belongs, and the end is told.

    A server that is held up by a busy machine loses sound: then it is played again.
    """
    off_ms: list[float] = []
    while len(off_ms) < ATTEMPTS and min(off_ms, default=MOST_OFF_MS) >= MOST_OFF_MS:
        clicks_s = _heard_s(pulse_server)
        whole = len(clicks_s) == len(CLICKS_S)
        off_s = np.abs(np.diff(clicks_s) - np.diff(CLICKS_S)).max() if whole else np.inf
        off_ms.append(float(1e3 * off_s))
        print(f"clicks apart: at most {off_ms[-1]:.3f} ms off")
    assert min(off_ms) < MOST_OFF_MS
