"""``practise`` whole: pages in a real terminal, a real sound server, a player who types."""

import json
import time
from pathlib import Path

import pytest

from rhythmtrain.rehearsal.practising.wait import SETTLES_S
from rhythmtrain.storage.history.history import open_history
from tests.real.player import Player, playing
from tests.real.servers import Server

WALK = 'title = "Walk"\nmetre = "2/4"\ntempo = 200\nrhythm = "1 2 | 1 2"\n'
BEAT_S = 60 / 120  # learnt at 0.6 of the tempo


def _begun(player: Player) -> None:
    """Read the page for a moment, then press Enter."""
    end_s = time.perf_counter() + SETTLES_S + 0.2
    while time.perf_counter() < end_s:
        player.look(0.02)
    player.tap(b"\r")


@pytest.mark.long
def test_a_session_page_by_page_until_escape(
    own_jack_server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A page, Enter, the track; an echo clapped back and heard; a page that says so; Escape."""
    (tmp_path / "walk.toml").write_text(WALK, encoding="utf-8")
    words = ["practise", str(tmp_path / "walk.toml"), "--json"]
    with playing(words, own_jack_server, tmp_path) as player:
        player.until(lambda seen: "Next: Listen" in seen)
        _begun(player)
        player.until(lambda seen: "Next: Echo" in seen)
        _begun(player)
        for time_through in range(2):
            begun_s = player.until(
                lambda seen, n=time_through: f"your answer, time {n + 1}" in seen  # type: ignore[misc]
            )
            player.tap_at(begun_s + beat * BEAT_S for beat in range(4))
        player.until(lambda seen: "What was heard" in seen)
        page = "\n".join(player.screen.rows)
        player.tap(b"\x1b")
        code, answer = player.ended()
        assert code == 0
        assert player.restored
    assert "Echo: right both times" in page
    assert "Next: Count aloud and clap" in page
    told = json.loads(answer)
    assert told["over"] == "stopped"
    assert [each["step"] for each in told["steps"]] == ["listen", "echo"]
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path))
    with open_history() as history:
        (kept,) = history.takes()
    assert kept.record.help == "echo"
    assert kept.id == told["steps"][1]["kept_as"]
