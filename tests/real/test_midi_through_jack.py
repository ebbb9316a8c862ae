"""Notes through JACK's virtual MIDI ports, stamped where they arrive."""

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

from tests.real.servers import Server

pytest.importorskip("rtmidi", reason="python-rtmidi is not installed (there is none for 3.13)")
ROOT = Path(__file__).parents[2]


def test_notes_arrive_in_time_and_an_unplugged_pad_is_told(jack_server: Server) -> None:
    """A note comes within one turn of the server (5.3 ms), and a pulled cable ends the source."""
    done = subprocess.run(
        [sys.executable, "-m", "tests.real.child_midi"], cwd=ROOT, env=dict(jack_server.env),
        capture_output=True, text=True, check=False, timeout=40,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr[-800:]
    told = json.loads(done.stdout.splitlines()[-1])
    late_ms = np.array(told["late_ms"])
    print(f"median {np.median(late_ms):.3f} ms, p95 {np.quantile(late_ms, 0.95):.3f} ms")
    assert len(late_ms) == 60
    assert late_ms.min() >= 0
    assert np.median(late_ms) < 8
    assert told["whats"][:4] == ["60", "60", "61", "61"]
    assert told["releases"] == [False, True] * 30
    assert told["velocities"] == [64, None] * 30
    assert told["ended"] == "went away"
    assert "pad" in told["reason"]
    assert "no MIDI input" in told["missing"]
