"""``clap --from midi`` whole: a pad on a JACK server, the track through the same, a real screen."""

import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.real.player import Player, playing
from tests.real.servers import RATE, Server

pytest.importorskip("rtmidi", reason="python-rtmidi is not installed (there is none for 3.13)")
ROOT = Path(__file__).parents[2]
BEAT_S = 0.5
WALK = 'title = "Walk"\nmetre = "4/4"\ntempo = 120\nrhythm = """1 2 3 4 | 1 2 3 4"""\n'
CLAPS = 8
ATTEMPTS = 3


def _played(player: Player, pad: "subprocess.Popen[str]") -> list[float]:
    """Play on every beat from bar 1 on, and return when each note was sent."""
    assert pad.stdin is not None
    assert pad.stdout is not None
    begun_s = player.until(lambda seen: "Bar 1" in seen)
    sent_s = []
    for clap in range(CLAPS):
        while time.perf_counter() < begun_s + clap * BEAT_S:
            player.look(0.003)
        pad.stdin.write("now\n")
        pad.stdin.flush()
        sent_s.append(float(pad.stdout.readline()))
    return sent_s


def _once(server: Server, folder: Path) -> tuple[dict[str, Any], list[float]]:
    drill = folder / "walk.toml"
    drill.write_text(WALK, encoding="utf-8")
    with subprocess.Popen(
        [sys.executable, "-m", "tests.real.child_pad"], cwd=ROOT, env=dict(server.env),
        stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True,
    ) as pad:  # fmt: skip
        assert pad.stdout is not None
        assert pad.stdout.readline() == "ready\n"
        with playing(
            ["clap", str(drill), "--from", "midi:pad", "--json"], server, folder
        ) as player:
            sent_s = _played(player, pad)
            code, answer = player.ended()
            assert code == 0
            assert player.restored
        pad.communicate("", timeout=10)
    return json.loads(answer), sent_s


def test_clap_on_a_pad_whole_through_a_sound_server_and_a_terminal(
    own_jack_server: Server, tmp_path: Path
) -> None:
    """Every note of the pad is heard once, where it was played; its releases are no claps.

    Where sound was lost the track stood still, not the clock: then it is tried again.
    """
    told, sent_s = _once(own_jack_server, tmp_path)
    for _ in range(ATTEMPTS - 1):
        if told["live"]["lost"] or len(told["take"]["onsets"]) != CLAPS:
            told, sent_s = _once(own_jack_server, tmp_path)
    tally, onsets = told["tally"], told["take"]["onsets"]
    assert (told["live"]["ended"], told["live"]["from"]) == ("finished", "midi:pad")
    assert (tally["matched"], tally["missed"], tally["extra"]) == (CLAPS, 0, 0)
    off = np.diff(onsets) - np.diff(sent_s)
    print(f"apart: at most {1e3 * np.abs(off).max():.2f} ms off, lost {told['live']['lost']}")
    assert np.median(np.abs(off)) < own_jack_server.period / RATE
    assert np.abs(off).max() < 0.02
