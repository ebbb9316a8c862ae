"""``latency`` and ``clap`` with a microphone, whole: a JACK loopback, where the truth is known."""

import json
import subprocess
import sys
from pathlib import Path
from typing import Any

from tests.real.servers import RATE, Server

ROOT = Path(__file__).parents[2]
WAIT_S = 300.0
ATTEMPTS = 5
NOBODY = (
    "nothing was played: is the microphone on",
    "No clap was heard that stands out",
    "Sound was lost on the way in more than half of the take",
)
LOOP = ("--loudspeaker", "loopback", "--from", "mic:loopback", "--json")


def _run(server: Server, home: Path, *words: str) -> "subprocess.CompletedProcess[str]":
    return subprocess.run(
        [sys.executable, *words], cwd=ROOT, env={**server.env, "RHYTHMTRAIN_HOME": str(home)},
        capture_output=True, text=True, check=False, timeout=WAIT_S, stdin=subprocess.DEVNULL,
    )  # fmt: skip


def _truth_ms(server: Server, home: Path) -> float:
    """Return the way round, counted in samples, of a take that came back whole."""
    told: dict[str, Any] = {}
    for _ in range(ATTEMPTS):
        done = _run(server, home, "-m", "tests.real.child_take", "loopback", "3", "low")
        told = json.loads(done.stdout.splitlines()[-1])
        if told["same"]:
            break
    return 1e3 * float(told["delay"]) / RATE


def test_the_delay_of_a_loopback_is_measured_to_a_tenth_of_a_millisecond_and_kept(
    jack_server: Server, tmp_path: Path
) -> None:
    """Measured from what is heard, it is the number of samples that went round; next time it is there.

    Where sound was lost meanwhile it is measured again.
    """
    truth_ms = _truth_ms(jack_server, tmp_path)
    told: dict[str, Any] = {}
    said = ""
    for _ in range(ATTEMPTS):
        done = _run(jack_server, tmp_path, "-m", "rhythmtrain", "latency", *LOOP)
        said = done.stderr
        if done.returncode:
            continue
        told = json.loads(done.stdout)
        print(f"{told['delay_ms']:.4f} ms, truly {truth_ms:.4f} ms")
        if abs(told["delay_ms"] - truth_ms) <= 0.1:
            break
    assert told, said
    assert abs(told["delay_ms"] - truth_ms) <= 0.1
    assert told["error_ms"] < 1
    assert (told["how"], told["kept"], told["rate"]) == ("heard", True, RATE)
    kept = (tmp_path / "settings.json").read_text(encoding="utf-8")
    assert f"loopback | {RATE} | JACK" in kept


def test_before_a_microphone_that_hears_only_the_loudspeaker_nobody_clapped(
    jack_server: Server, tmp_path: Path
) -> None:
    """The track's own claps and clicks are never taken for the player's.

    Where a busy machine lost sound, crumbs of the track are left: they are told to be no claps.
    """
    done = _run(jack_server, tmp_path, "-m", "rhythmtrain", "clap", "off-beats", *LOOP)
    assert done.returncode == 1
    assert done.stdout == ""
    assert any(each in done.stderr for each in NOBODY), done.stderr
    assert "Traceback" not in done.stderr
