"""``clap`` and ``enter`` whole: a real sound server, a real terminal, a player who types.

The track goes through a JACK server on its dummy driver; keys come through a pseudo-terminal at
known times; the screen is read back as a player would see it.  The parent's clock and the child's
are one (``time.perf_counter`` is one clock for all processes on Linux).  These tests wait in real
time; where hands or a server were held up by a busy machine, it is tried again.
"""

import json
import re
import signal
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from rhythmtrain.storage.history.history import open_history
from tests.real.player import best_of, playing
from tests.real.servers import Server, jack

TEMPO = 120
BEAT_S = 60 / TEMPO
MOST_LATE_MS, KEY_ERROR_S = 150, 0.012
Told = dict[str, Any]
WALK = (
    f'title = "Walk"\nmetre = "4/4"\ntempo = {TEMPO}\nrhythm = """1 2 3 4 | 1 2 3 4 | 1 2 3 4"""\n'
)
WAIT = (
    f'title = "Wait"\nmetre = "2/4"\ntempo = {TEMPO}\n'
    'rhythm = """rest 2 | 1 2"""\ncue = """1 & 2 & | 1 2 | 1 2"""\n'
)


def _drill(folder: Path, text: str) -> str:
    path = folder / "drill.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def _both(*words: str) -> Callable[[str], bool]:
    """Return what tells whether all ``words`` are on the screen."""
    return lambda seen: all(word in seen for word in words)


def _beats_s(begun_s: float, beats: int) -> list[float]:
    """Return when ``beats`` beats fall from ``begun_s`` on."""
    return [begun_s + beat * BEAT_S for beat in range(beats)]


def test_clap_whole_through_a_sound_server_and_a_terminal(
    own_jack_server: Server, tmp_path: Path
) -> None:
    """What a person does: start it, see the bar, clap, read what was heard."""
    words = ["clap", _drill(tmp_path, WALK), "--json"]

    def once() -> Told:
        with playing(words, own_jack_server, tmp_path) as player:
            begun_s = player.until(lambda seen: "Bar 1" in seen)
            player.tap_at(_beats_s(begun_s, 8))
            seen = player.look(0.1)
            player.tap_at(_beats_s(begun_s, 12)[8:])
            code, answer = player.ended()
            assert code == 0
            assert player.restored
            sent = np.array(player.sent_s)
        told: Told = json.loads(answer)
        onsets = np.array(told["take"]["onsets"])
        off = (onsets - onsets[0]) - (sent[: len(onsets)] - sent[0])
        return told | {"seen": seen, "off_s": np.abs(off - np.median(off))}

    def good(told: Told) -> bool:
        in_time = abs(told["offset_ms"]["median"]) < MOST_LATE_MS
        placed = not told["live"]["lost"] and told["off_s"].max() < KEY_ERROR_S
        return _all_of(told, 12) and in_time and placed and _marks(told["seen"]) >= 4

    told = best_of(once, good)
    off_s, seen, lost = told["off_s"], told["seen"], told["live"]["lost"]
    print(f"median {1e3 * np.median(off_s):.3f} ms, last {1e3 * off_s.max():.3f} ms, lost {lost}")
    assert told["live"]["device"] == "loopback"
    assert told["live"]["ended"] == "finished"
    assert told["kept_as"] >= 1
    assert _all_of(told, 12)
    assert abs(told["offset_ms"]["median"]) < MOST_LATE_MS
    if not lost:  # where a period was lost the track stood still, not the clock
        assert np.median(off_s) < 0.001
        assert np.max(off_s) < KEY_ERROR_S
    assert seen[0].startswith("Walk")
    frame = [row.strip() for row in seen if row.strip().startswith("│")]
    assert frame[0].strip("│").split() == ["1", "2", "3", "4"]
    assert _marks(seen) >= 4


def _marks(seen: tuple[str, ...]) -> int:
    """Return how many claps the screen shows."""
    return sum(row.count("^") for row in seen)


def _all_of(told: Told, notes: int) -> bool:
    """Return whether so many notes were matched and none was missed."""
    return (told["tally"]["matched"], told["tally"]["missed"]) == (notes, 0)


def test_escape_ends_it_and_what_was_clapped_is_checked(
    own_jack_server: Server, tmp_path: Path
) -> None:
    """Stopping is no failure."""
    words = ["clap", _drill(tmp_path, WALK), "--json", "--loop"]

    def once() -> Told:
        with playing(words, own_jack_server, tmp_path) as player:
            begun_s = player.until(lambda seen: "Bar 1" in seen)
            player.tap_at(_beats_s(begun_s, 5))
            player.look(0.1)
            player.tap(b"\x1b")
            code, answer = player.ended()
            assert code == 0
            assert player.restored
        told: Told = json.loads(answer)
        return told

    told = best_of(once, lambda told: _all_of(told, 5))
    assert told["live"]["ended"] == "stopped"
    assert _all_of(told, 5)


@pytest.mark.parametrize(
    ("number", "code"), [(signal.SIGINT, 130), (signal.SIGTERM, 143)], ids=["int", "term"]
)
def test_a_signal_leaves_the_terminal_as_it_was(
    own_jack_server: Server, tmp_path: Path, number: signal.Signals, code: int
) -> None:
    """Nobody is left with a terminal that shows nothing one types."""
    with playing(["clap", _drill(tmp_path, WALK)], own_jack_server, tmp_path) as player:
        player.until(lambda seen: "Bar 1" in seen)
        assert not player.restored
        player.process.send_signal(number)
        assert player.ended()[0] == code
        assert player.restored


def test_a_kill_in_the_middle_of_a_take_loses_nothing_that_was_kept(
    own_jack_server: Server, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A battery that runs out costs the take that was going on, and no other."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path))
    words = ["clap", _drill(tmp_path, WALK), "--json"]

    def once() -> Told:
        with playing(words, own_jack_server, tmp_path) as player:
            begun_s = player.until(lambda seen: "Bar 1" in seen)
            player.tap_at(_beats_s(begun_s, 6))
            player.tap(b"\x1b")
            told: Told = json.loads(player.ended()[1])
            return told

    assert best_of(once, lambda told: told["kept_as"] is not None)["kept_as"] is not None
    with open_history() as history:
        before = list(history.takes())
    with playing(words, own_jack_server, tmp_path) as player:
        begun_s = player.until(lambda seen: "Bar 1" in seen)
        player.tap_at(_beats_s(begun_s, 6))
        player.process.kill()
        assert player.ended()[0] == -signal.SIGKILL
    with open_history() as history:
        assert list(history.takes()) == before


def test_a_sound_server_that_is_stopped_leaves_the_take_so_far(tmp_path: Path) -> None:
    """A cable, a battery, a server: what was clapped is checked, and one line says what happened."""
    words = ["clap", _drill(tmp_path, WALK), "--json"]

    def once() -> Told:
        with jack() as server, playing(words, server, tmp_path) as player:
            begun_s = player.until(lambda seen: "Bar 1" in seen)
            player.tap_at(_beats_s(begun_s, 5))
            server.process.terminate()
            code, answer = player.ended()
            assert player.restored
        assert code == 0
        told: Told = json.loads(answer)
        return told

    told = best_of(once, lambda told: _all_of(told, 5))
    assert told["live"]["ended"] == "went away"
    assert re.search(r"'loopback' (went away|stopped answering)", told["live"]["reason"])
    assert _all_of(told, 5)


def test_enter_whole_with_a_player_who_comes_in(own_jack_server: Server, tmp_path: Path) -> None:
    """Two tries, each with another screen, told in two lines and a list."""
    words = ["enter", _drill(tmp_path, WAIT), "--tries", "2", "--json"]

    def once() -> Told:
        with playing(words, own_jack_server, tmp_path) as player:
            for number in (1, 2):
                begun_s = player.until(_both(f"Try {number}:", "Bar 3"))
                player.tap_at(_beats_s(begun_s, 2))
            code, answer = player.ended()
            assert code == 0
            assert player.restored
            assert player.screen.opened == 2
        told: Told = json.loads(answer)
        return told

    told = best_of(once, lambda told: all(each["in_time"] for each in told["tries"]))
    assert told["entry"] == {"bar": 3, "count": "1"}
    assert [each["in_time"] for each in told["tries"]] == [True, True]
    first, second = (each["kept_as"] for each in told["tries"])
    assert second == first + 1
    assert [each["help"] for each in told["tries"]] == [
        "rests counted aloud", "every other bar counted",
    ]  # fmt: skip
