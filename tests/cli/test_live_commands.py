"""The live commands as typed, with no hardware, and the terminal they draw on."""

import io
import json
import os
import pty
import select
import sys
import termios
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import replace

import pytest

from rhythmtrain.cli.live_terminal import CLOSE, OPEN, LiveTerminal
from rhythmtrain.cli.telling import tell
from rhythmtrain.rehearsal.clapping.clap import clap_along
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.typed_words import as_typed
from tests.cli.conftest import Typed

BELL = "\a"
PATIENCE_S = 120.0
LIVE = (
    ("clap", "off-beats"),
    ("clap", "off-beats", "--from", "midi", "--loop"),
    ("clap", "off-beats", "--from", "mic"),
    ("enter", "towpath-entry", "--tries", "2"),
    ("latency", "--from", "keys"),
    ("devices",),
)


@pytest.mark.parametrize("words", LIVE, ids=" ".join)
def test_every_live_command_runs_dry(typed: Typed, words: tuple[str, ...]) -> None:
    """Nothing to plug in, done in a moment."""
    code, out, err = typed(*words, "--dry-run")
    assert (code, err) == (0, "")
    assert out.strip()


@pytest.mark.parametrize("words", LIVE, ids=" ".join)
def test_json_is_one_document_and_nothing_else(typed: Typed, words: tuple[str, ...]) -> None:
    """For programs; never a NaN."""
    code, out, _ = typed(*words, "--dry-run", "--json")
    assert code == 0
    assert json.loads(out, parse_constant=pytest.fail)


def test_a_live_take_is_told_like_a_recorded_one(typed: Typed) -> None:
    """The same keys, and one that says how it was played."""
    _, out, _ = typed("clap", "off-beats", "--dry-run", "--json")
    told = json.loads(out)
    assert {"tally", "notes", "offset_ms", "advice", "live"} <= set(told)
    assert told["take"]["source"] == "keys"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("clap", "off-beats", "--from", "drum"), "--from must be keys"),
        (("clap", "off-beats", "--as", "wind"), "add --from mic"),
        (("enter", "steady-quarters"), "has no entry"),
        (("enter", "towpath-entry", "--tries", "0"), "tries must be 1 to 100"),
        (("latency", "--from", "midi:"), "--from must be keys"),
    ],
    ids=str,
)
def test_what_cannot_be_done_is_one_line(typed: Typed, words: tuple[str, ...], said: str) -> None:
    """Wrong usage, code 2, before anything sounds."""
    code, out, err = typed(*words, "--dry-run")
    assert code == 2
    assert out == ""
    assert said in err
    assert err.count("\n") == 1


def test_the_help_of_live_commands_says_to_take_care(typed: Typed) -> None:
    """Once and briefly."""
    for command in ("clap", "enter", "latency"):
        assert "tart quiet" in typed(command, "--help")[1]


class _Terminal:
    """A terminal of our own: what is drawn on one end is read at the other."""

    def __init__(self, columns: int, rows: int) -> None:
        self.ours, self.theirs = pty.openpty()
        termios.tcsetwinsize(self.theirs, (rows, columns))
        self.stream = os.fdopen(self.theirs, "w", encoding="utf-8")

    def resize(self, columns: int, rows: int) -> None:
        termios.tcsetwinsize(self.theirs, (rows, columns))

    def read(self) -> str:
        """Return all that was written since the last time, up to a bell that we ring for it.

        The system hands on what is written when it finds time; waiting a while is no proof.
        """
        self.stream.write(BELL)
        self.stream.flush()
        seen = ""
        while not seen.endswith(BELL):
            assert select.select([self.ours], [], [], PATIENCE_S)[0]
            seen += os.read(self.ours, 65536).decode()
        return seen.removesuffix(BELL)


@contextmanager
def _terminal(columns: int = 80, rows: int = 24) -> Iterator[_Terminal]:
    terminal = _Terminal(columns, rows)
    try:
        yield terminal
    finally:
        terminal.stream.close()
        os.close(terminal.ours)


def test_only_lines_that_changed_are_written_again() -> None:
    """That is why nothing flickers."""
    with _terminal() as terminal, LiveTerminal(terminal.stream) as screen:
        assert terminal.read() == OPEN
        assert screen.columns == 80
        screen.draw(("one", "two"))
        assert terminal.read() == "\x1b[1;1Hone\x1b[K\x1b[2;1Htwo\x1b[K"
        screen.draw(("one", "three"))
        assert terminal.read() == "\x1b[2;1Hthree\x1b[K"
        screen.draw(("one", "three"))
        screen.draw(("one",))
        assert terminal.read() == "\x1b[2;1H\x1b[K"
        screen.close()
        screen.close()
        assert terminal.read() == CLOSE


def test_a_window_that_changes_is_drawn_anew_and_never_overfilled() -> None:
    """Players move their windows about."""
    with _terminal() as terminal, LiveTerminal(terminal.stream) as screen:
        screen.draw(("one", "two", "three"))
        terminal.read()
        terminal.resize(60, 2)
        screen.draw(("one", "two", "three"))
        assert terminal.read() == "\x1b[2J\x1b[1;1Hone\x1b[K\x1b[2;1Htwo\x1b[K"
        assert screen.columns == 60


def test_the_first_screen_comes_back_after_an_error() -> None:
    """Whatever happens, the terminal is given back."""
    with _terminal() as terminal:
        with pytest.raises(ZeroDivisionError), LiveTerminal(terminal.stream):
            str(1 // 0)
        assert terminal.read() == OPEN + CLOSE


def test_where_nobody_looks_nothing_is_drawn(capsys: pytest.CaptureFixture[str]) -> None:
    """In a pipe there are only words."""
    stream = io.StringIO()
    with LiveTerminal(stream) as screen:
        screen.draw(("one",))
        screen.say("Try 1: in time.")
        assert screen.columns == 80
    screen.close()
    assert stream.getvalue() == ""
    assert capsys.readouterr().err == "Try 1: in time.\n"


def test_an_answer_is_broken_anew_for_a_narrow_window(monkeypatch: pytest.MonkeyPatch) -> None:
    """Half a screen beside the music: no sentence ends in the middle of a word."""
    told = clap_along(ClapWish("off-beats", dry_run=True))
    told = replace(told, warnings=("The recorded accompaniment plays beside it, all of it.",))
    assert max(map(len, told.text.split("\n"))) > 44
    monkeypatch.setenv("COLUMNS", "44")
    with _terminal(44, 20) as terminal:
        monkeypatch.setattr(sys, "stdout", terminal.stream)
        monkeypatch.setattr(sys, "stderr", terminal.stream)
        tell(told, as_json=False, fits=True)
        seen = terminal.read().replace("\r", "").split("\n")
    assert seen[:2] == [
        "rhythmtrain: note: The recorded",
        "  accompaniment plays beside it, all of it.",
    ]
    assert max(len(line) for line in seen if "  rhythmtrain " not in line) <= 44
    assert " ".join(seen[2:]).split() == told.worded(as_typed).text.split()
