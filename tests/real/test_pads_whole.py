"""``clap --from midi`` whole: a pad on a JACK server, the track through the same, a real screen."""

import json
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from tests.real.player import PATIENCE_S, Player, best_of, playing
from tests.real.servers import RATE, Server

pytest.importorskip("rtmidi", reason="python-rtmidi is not installed (there is none for 3.13)")
ROOT = Path(__file__).parents[2]
BEAT_S = 0.5
WALK = 'title = "Walk"\nmetre = "4/4"\ntempo = 120\nrhythm = """1 2 3 4 | 1 2 3 4"""\n'
CLAPS = 8
MOST_OFF_S = 0.02


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


def _once(server: Server, folder: Path) -> dict[str, Any]:
    """Return what was told, and how far apart the notes were heard less how far they were sent."""
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
        pad.communicate("", timeout=PATIENCE_S)
    told: dict[str, Any] = json.loads(answer)
    onsets = told["take"]["onsets"]
    off_s = np.abs(np.diff(onsets) - np.diff(sent_s[: len(onsets)]))
    return told | {"off_s": off_s}


def test_clap_on_a_pad_whole_through_a_sound_server_and_a_terminal(
    own_jack_server: Server, tmp_path: Path
) -> None:
    """Every note of the pad is heard once, where it was played; its releases are no claps.

    Where sound was lost the track stood still, not the clock, and a pad that was held up plays late:
    then it is tried again.
    """
    told = best_of(
        lambda: _once(own_jack_server, tmp_path),
        lambda told: (
            not told["live"]["lost"]
            and (told["tally"]["matched"], told["tally"]["extra"]) == (CLAPS, 0)
            and told["off_s"].max() < MOST_OFF_S
        ),
    )
    tally, off_s = told["tally"], told["off_s"]
    assert (told["live"]["ended"], told["live"]["from"]) == ("finished", "midi:pad")
    assert (tally["matched"], tally["missed"], tally["extra"]) == (CLAPS, 0, 0)
    print(f"apart: at most {1e3 * off_s.max():.2f} ms off, lost {told['live']['lost']}")
    assert np.median(off_s) < own_jack_server.period / RATE
    assert off_s.max() < MOST_OFF_S
