"""``clap`` and ``enter`` whole: a real sound server, a real terminal, a player who types.

The track goes through a JACK server on its dummy driver; keys come through a pseudo-terminal at
known times; the screen is read back as a player would see it.  The parent's clock and the child's
are one (``time.perf_counter`` is one clock for all processes on Linux).  These tests wait in real
time.
"""

import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from rhythmtrain.storage.history import open_history
from tests.real.servers import Server

ROWS, COLUMNS = 24, 80
TEMPO = 120
BEAT_S = 60 / TEMPO
WALK = (
    f'title = "Walk"\nmetre = "4/4"\ntempo = {TEMPO}\nrhythm = """1 2 3 4 | 1 2 3 4 | 1 2 3 4"""\n'
)
WAIT = (
    f'title = "Wait"\nmetre = "2/4"\ntempo = {TEMPO}\n'
    'rhythm = """rest 2 | 1 2"""\ncue = """1 & 2 & | 1 2 | 1 2"""\n'
)
PATIENCE_S = 40.0
CSI = re.compile(r"\x1b\[([?0-9;]*)([A-Za-z])|([^\x1b]+)")


class Screen:
    """A terminal's screen: as much of its language as is drawn with."""

    def __init__(self) -> None:
        """Begin on the first screen, empty."""
        self.rows = [""] * ROWS
        self.second = False
        self.opened = 0
        self._row = self._column = 0

    def feed(self, text: str) -> None:
        """Take what was written."""
        for numbers, letter, plain in CSI.findall(text):
            if plain:
                self._write(plain)
            elif letter in "hl" and numbers == "?1049":
                self.second = letter == "h"
                self.opened += self.second
            elif letter == "J":
                self.rows = [""] * ROWS
            elif letter == "H":
                row, column = (int(number) for number in numbers.split(";"))
                self._row, self._column = row - 1, column - 1
            elif letter == "K":
                self.rows[self._row] = self.rows[self._row][: self._column]

    def _write(self, plain: str) -> None:
        if self.second:
            line = self.rows[self._row].ljust(self._column)
            self.rows[self._row] = line[: self._column] + plain + line[self._column + len(plain) :]
            self._column += len(plain)


class Player:
    """A command in a terminal, and hands on its keys."""

    def __init__(self, words: list[str], server: Server, home: Path) -> None:
        """Start ``rhythmtrain`` with ``words``; its answer is kept, its screen is read."""
        self.ours, self.theirs = pty.openpty()
        termios.tcsetwinsize(self.theirs, (ROWS, COLUMNS))
        self.settings = termios.tcgetattr(self.theirs)
        self.screen = Screen()
        self.sent_s: list[float] = []
        self.process = subprocess.Popen(
            [sys.executable, "-m", "rhythmtrain", *words, "--loudspeaker", "loopback"],
            stdin=self.theirs,
            stderr=self.theirs,
            stdout=subprocess.PIPE,
            env={**server.env, "RHYTHMTRAIN_HOME": str(home)},
        )

    def look(self, wait_s: float = 0.005) -> tuple[str, ...]:
        """Return the screen now."""
        while select.select([self.ours], [], [], wait_s)[0]:
            self.screen.feed(os.read(self.ours, 65536).decode())
            wait_s = 0.0
        return tuple(self.screen.rows)

    def tap(self, key: bytes = b" ") -> None:
        """Press a key now."""
        os.write(self.ours, key)
        self.sent_s.append(time.perf_counter())

    def until(self, seen: Callable[[str], bool]) -> float:
        """Look until the screen holds what is ``seen``; return when."""
        end_s = time.perf_counter() + PATIENCE_S
        while time.perf_counter() < end_s and self.process.poll() is None:
            if seen("\n".join(self.look())):
                return time.perf_counter()
        pytest.fail(f"never seen, last:\n{chr(10).join(self.screen.rows)}")

    def ended(self) -> tuple[int, str]:
        """Wait for the end and return the exit code and the answer."""
        end_s = time.perf_counter() + PATIENCE_S
        while self.process.poll() is None and time.perf_counter() < end_s:
            self.look(0.02)
        assert self.process.stdout is not None
        answer = self.process.stdout.read().decode()
        self.look(0.1)
        return self.process.wait(1), answer

    @property
    def restored(self) -> bool:
        """Return whether terminal and screen are as they were."""
        return termios.tcgetattr(self.theirs) == self.settings and not self.screen.second

    def close(self) -> None:
        """Give everything back."""
        if self.process.poll() is None:
            self.process.kill()
            self.process.wait()
        if self.process.stdout is not None:
            self.process.stdout.close()
        os.close(self.ours)
        os.close(self.theirs)


@contextmanager
def playing(words: list[str], server: Server, home: Path) -> Iterator[Player]:
    """Give a command that runs in a terminal."""
    player = Player(words, server, home)
    try:
        yield player
    finally:
        player.close()


def _drill(folder: Path, text: str) -> str:
    path = folder / "drill.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def _both(*words: str) -> Callable[[str], bool]:
    """Return what tells whether all ``words`` are on the screen."""
    return lambda seen: all(word in seen for word in words)


def _tapped(player: Player, begun_s: float, beats: int) -> None:
    """Tap on every beat from ``begun_s`` on, reading the screen meanwhile."""
    for beat in range(beats):
        while time.perf_counter() < begun_s + beat * BEAT_S:
            player.look(0.003)
        player.tap()


def test_clap_whole_through_a_sound_server_and_a_terminal(
    own_jack_server: Server, tmp_path: Path
) -> None:
    """What a person does: start it, see the bar, clap, read what was heard."""
    words = ["clap", _drill(tmp_path, WALK), "--json"]
    with playing(words, own_jack_server, tmp_path) as player:
        begun_s = player.until(lambda seen: "Bar 1" in seen)
        _tapped(player, begun_s, 8)
        seen = player.look(0.1)
        _tapped(player, begun_s + 8 * BEAT_S, 4)
        code, answer = player.ended()
        assert code == 0
        assert player.restored
        told: dict[str, Any] = json.loads(answer)
        onsets = np.array(told["take"]["onsets"])
        sent = np.array(player.sent_s)
    assert told["live"]["device"] == "loopback"
    assert told["live"]["ended"] == "finished"
    assert told["kept_as"] == 1
    assert told["tally"]["matched"] == 12
    assert abs(told["offset_ms"]["median"]) < 150
    off = (onsets - onsets[0]) - (sent - sent[0])
    off_ms = np.abs(off - np.median(off)) * 1e3
    lost = told["live"]["lost"]
    print(f"median {np.median(off_ms):.3f} ms, last {off_ms.max():.3f} ms, lost {lost}")
    if not told["live"]["lost"]:  # where a period was lost the track stood still, not the clock
        assert np.median(np.abs(off - np.median(off))) < 0.001
        assert np.max(np.abs(off - np.median(off))) < 0.012
    assert seen[0].startswith("Walk")
    frame = [row.strip() for row in seen if row.strip().startswith("│")]
    assert frame[0].strip("│").split() == ["1", "2", "3", "4"]
    assert sum(row.count("^") for row in seen) >= 4


def test_escape_ends_it_and_what_was_clapped_is_checked(
    own_jack_server: Server, tmp_path: Path
) -> None:
    """Stopping is no failure."""
    words = ["clap", _drill(tmp_path, WALK), "--json", "--loop"]
    with playing(words, own_jack_server, tmp_path) as player:
        begun_s = player.until(lambda seen: "Bar 1" in seen)
        _tapped(player, begun_s, 5)
        player.look(0.1)
        player.tap(b"\x1b")
        code, answer = player.ended()
        assert code == 0
        assert player.restored
    told = json.loads(answer)
    assert told["live"]["ended"] == "stopped"
    assert told["tally"]["matched"] == 5
    assert told["tally"]["missed"] == 0


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
    with playing(words, own_jack_server, tmp_path) as player:
        begun_s = player.until(lambda seen: "Bar 1" in seen)
        _tapped(player, begun_s, 6)
        player.tap(b"\x1b")
        assert json.loads(player.ended()[1])["kept_as"] == 1
    with playing(words, own_jack_server, tmp_path) as player:
        begun_s = player.until(lambda seen: "Bar 1" in seen)
        _tapped(player, begun_s, 6)
        player.process.kill()
        assert player.ended()[0] == -signal.SIGKILL
    with open_history() as history:
        (kept,) = history.takes()
    assert len(kept.record.onsets) == 6


def test_a_sound_server_that_is_stopped_leaves_the_take_so_far(
    own_jack_server: Server, tmp_path: Path
) -> None:
    """A cable, a battery, a server: what was clapped is checked, and one line says what happened."""
    words = ["clap", _drill(tmp_path, WALK), "--json"]
    with playing(words, own_jack_server, tmp_path) as player:
        begun_s = player.until(lambda seen: "Bar 1" in seen)
        _tapped(player, begun_s, 5)
        own_jack_server.process.terminate()
        code, answer = player.ended()
        assert player.restored
    assert code == 0
    told = json.loads(answer)
    assert told["live"]["ended"] == "went away"
    assert re.search(r"'loopback' (went away|stopped answering)", told["live"]["reason"])
    assert (told["tally"]["matched"], told["tally"]["missed"]) == (5, 0)


def test_enter_whole_with_a_player_who_comes_in(own_jack_server: Server, tmp_path: Path) -> None:
    """Two tries, each with another screen, told in two lines and a list."""
    words = ["enter", _drill(tmp_path, WAIT), "--tries", "2", "--json"]
    with playing(words, own_jack_server, tmp_path) as player:
        for number in (1, 2):
            begun_s = player.until(_both(f"Try {number}:", "Bar 3"))
            _tapped(player, begun_s, 2)
        code, answer = player.ended()
        assert code == 0
        assert player.restored
        assert player.screen.opened == 2
    told = json.loads(answer)
    assert told["entry"] == {"bar": 3, "count": "1"}
    assert [each["in_time"] for each in told["tries"]] == [True, True]
    assert [each["kept_as"] for each in told["tries"]] == [1, 2]
    assert [each["help"] for each in told["tries"]] == [
        "rests counted aloud", "every other bar counted",
    ]  # fmt: skip
