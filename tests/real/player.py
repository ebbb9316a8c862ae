"""A command in a real terminal: its screen is read back as a player sees it, its keys are pressed."""

import codecs
import os
import pty
import re
import select
import subprocess
import sys
import termios
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import TypeVar

import pytest

from rhythmtrain.devices.waking import go_sooner
from tests.real.servers import Server

Told = TypeVar("Told")
ROWS, COLUMNS = 24, 80
# A slow machine with more to do than it can takes half a minute to start a program.
PATIENCE_S = 240.0
ATTEMPTS = 5
HELD_S = 0.05
LATE_S: list[float] = []  # by how much the hand was late, tap by tap
CSI = re.compile(r"\x1b\[([?0-9;]*)([A-Za-z])|([^\x1b]+)")
TORN = re.compile(r"\x1b(\[[?0-9;]*)?$")


class Screen:
    """A terminal's screen: as much of its language as is drawn with."""

    def __init__(self) -> None:
        """Begin on the first screen, empty; what is ``said`` there stays."""
        self.rows = [""] * ROWS
        self.second = False
        self.opened = 0
        self.said = ""
        self._row = self._column = 0
        self._decode = codecs.getincrementaldecoder("utf-8")().decode
        self._torn = ""

    def feed(self, written: bytes) -> None:
        """Take what was written; what is torn in two is read when its end is there."""
        text = self._torn + self._decode(written)
        torn = TORN.search(text)
        self._torn = torn[0] if torn else ""
        text = text[: len(text) - len(self._torn)]
        for numbers, letter, plain in CSI.findall(text):
            if plain and self.second:
                self._write(plain)
            elif plain:
                self.said += plain
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
        line = self.rows[self._row].ljust(self._column)
        self.rows[self._row] = line[: self._column] + plain + line[self._column + len(plain) :]
        self._column += len(plain)


class Player:
    """A command in a terminal, and hands on its keys."""

    def __init__(self, words: list[str], server: Server, home: Path, loudspeaker: str) -> None:
        """Start ``rhythmtrain`` with ``words``; its answer is kept, its screen is read."""
        self.ours, self.theirs = pty.openpty()
        termios.tcsetwinsize(self.theirs, (ROWS, COLUMNS))
        self.settings = termios.tcgetattr(self.theirs)
        self.screen = Screen()
        self.sent_s: list[float] = []
        self.process = subprocess.Popen(
            [sys.executable, "-m", "rhythmtrain", *words, "--loudspeaker", loudspeaker],
            stdin=self.theirs,
            stderr=self.theirs,
            stdout=subprocess.PIPE,
            env={**server.env, "RHYTHMTRAIN_HOME": str(home)},
        )

    def look(self, wait_s: float = 0.005) -> tuple[str, ...]:
        """Return the screen now."""
        while select.select([self.ours], [], [], wait_s)[0]:
            self.screen.feed(os.read(self.ours, 65536))
            wait_s = 0.0
        return tuple(self.screen.rows)

    def tap(self, key: bytes = b" ") -> None:
        """Press a key now."""
        self.sent_s.append(time.perf_counter())
        os.write(self.ours, key)

    def tap_at(self, times_s: Iterable[float]) -> None:
        """Tap at each of ``times_s`` on the clock, reading the screen meanwhile."""
        for time_s in times_s:
            while time.perf_counter() < time_s:
                self.look(0.003)
            self.tap()
            LATE_S.append(self.sent_s[-1] - time_s)

    def until(self, seen: Callable[[str], bool]) -> float:
        """Look until the screen holds what is ``seen``; return when."""
        end_s = time.perf_counter() + PATIENCE_S
        while time.perf_counter() < end_s and self.process.poll() is None:
            if seen("\n".join(self.look())):
                return time.perf_counter()
        rows = "\n".join(self.look())
        pytest.fail(f"never seen, code {self.process.poll()}, last:\n{rows}\n{self.screen.said}")

    def ended(self) -> tuple[int, str]:
        """Wait for the end and return the exit code and the answer."""
        end_s = time.perf_counter() + PATIENCE_S
        while self.process.poll() is None and time.perf_counter() < end_s:
            self.look(0.02)
        assert self.process.stdout is not None
        answer = self.process.stdout.read().decode()
        self.look(0.1)
        return self.process.wait(PATIENCE_S), answer

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
def playing(
    words: list[str], server: Server, home: Path, *, loudspeaker: str = "loopback"
) -> Iterator[Player]:
    """Give a command that runs in a terminal, and a player who is held up by no other program.

    That is so where the system allows it; elsewhere what came of it may be no player's fault, and is
    tried again (``best_of``).
    """
    player = Player(words, server, home, loudspeaker)
    as_before = go_sooner()
    try:
        yield player
    finally:
        as_before()
        player.close()


def best_of(once: Callable[[], Told], good: Callable[[Told], bool]) -> Told:
    """Return what ``once`` gave as soon as it is ``good``; of several, on a busy machine, the last.

    A hand that is held up, a server that loses a turn: neither is the program's fault, and neither
    comes every time.  Where the hand itself, which only sleeps and taps, was held up each time, the
    machine tells nothing of the program.
    """
    held = 0
    for attempt in range(1, ATTEMPTS + 1):
        LATE_S.clear()
        told = once()
        held += max(LATE_S, default=0.0) > HELD_S
        if good(told) or (attempt == ATTEMPTS and held < ATTEMPTS):
            return told
    pytest.skip(f"the player's hand was held up for {HELD_S:g} s or more each time")
