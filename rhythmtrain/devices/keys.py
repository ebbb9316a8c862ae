"""Keys of a terminal as taps, and the terminal as it was, whatever happens.

The terminal is put into *cbreak*: keys come one by one and unechoed, Ctrl-C stays a signal.  Keys
are awaited with ``select`` and read with ``os.read``, by a thread of their own so that a drawing
loop makes no stamp late; the stamp is taken between the two calls.

**Escape** is the byte 27 alone; cursor and function keys send 27 and more bytes in one breath.  So
after a 27 that ends what was read a few milliseconds are waited for the rest.

**Restoring.**  The settings are put back when the port is left: at its end, by an exception, by
Ctrl-C, by SIGTERM and SIGHUP (which are turned into SystemExit while the port is open, in the main
thread) and by ``atexit``.  SIGKILL cannot be seen by anyone: ``stty sane`` mends it.  A signal may
come at any step of Python: an ``Event`` that is left just when its lock was taken keeps it for ever,
and who sets it then waits as long.  So the reader rings a queue, which has no such step.
"""

import atexit
import codecs
import os
import select
import signal
import sys
import termios
import threading
import time
import tty
from collections import deque
from collections.abc import Callable
from contextlib import suppress
from queue import Empty, SimpleQueue
from types import FrameType
from typing import Any, Self

from rhythmtrain.devices.key_names import key_names
from rhythmtrain.devices.ports import STOP_KEY, Ended, How, Tap
from rhythmtrain.devices.waking import go_first
from rhythmtrain.errors import DeviceError
from rhythmtrain.remedies import remedy

STAMP_ERROR_S = 0.001
REST_OF_SEQUENCE_S = 0.025
LOOK_ROUND_S = 0.2
ESCAPE = b"\x1b"
SIGNALS = (signal.SIGTERM, signal.SIGHUP)
GONE = "the terminal went away"


class TerminalKeys:
    """Keys typed into the terminal ``fd`` (standard input)."""

    name = "keys"
    stamp_error_s = STAMP_ERROR_S

    def __init__(self, fd: int | None = None) -> None:
        """Take the terminal; nothing is changed before the port is entered."""
        self._fd = sys.stdin.fileno() if fd is None else fd
        self._before: list[Any] | None = None
        self._handlers: dict[signal.Signals, Any] = {}
        self._taps: deque[Tap] = deque()
        self._bell: SimpleQueue[None] = SimpleQueue()
        self._leaving = False
        self._ended: Ended | None = None
        self._reader = threading.Thread(target=self._read, name="keys", daemon=True)

    @property
    def ended(self) -> Ended | None:
        """Return how the port ended, None while it works or has taps to give."""
        return None if self._taps else self._ended

    def stop(self) -> None:
        """Stop now, as STOPPED if nothing ended it before."""
        self._end(Ended(How.STOPPED))

    def poll(self, wait_s: float = 0.0) -> tuple[Tap, ...]:
        """Return the taps since the last time, waiting up to ``wait_s`` seconds for one."""
        if wait_s and not self._taps and self._ended is None:
            with suppress(Empty):
                self._bell.get(timeout=wait_s)
        while not self._bell.empty():
            self._bell.get_nowait()
        return tuple(self._taps.popleft() for _ in range(len(self._taps)))

    def __enter__(self) -> Self:
        """Put the terminal into cbreak and listen; DeviceError where there is no terminal."""
        try:
            self._before = termios.tcgetattr(self._fd)
            self._watch_signals()
            atexit.register(self._restore)
            tty.setcbreak(self._fd, termios.TCSANOW)
        except termios.error as error:
            self._restore()
            raise DeviceError(
                "keys can only be heard in a terminal: start rhythmtrain in one, without redirecting "
                f"its input, or {remedy('tap-elsewhere')}"
            ) from error
        self._reader.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Restore the terminal first of all."""
        self._restore()
        self.stop()
        self._reader.join()

    def _watch_signals(self) -> None:
        if threading.current_thread() is threading.main_thread():
            for number in SIGNALS:
                self._handlers[number] = signal.signal(number, _leave)

    def _restore(self) -> None:
        if self._before is not None:
            try:
                termios.tcsetattr(self._fd, termios.TCSANOW, self._before)
            except termios.error:
                self._end(Ended(How.WENT_AWAY, GONE))
            self._before = None
        for number, handler in self._handlers.items():
            signal.signal(number, handler)
        self._handlers.clear()
        atexit.unregister(self._restore)

    def _end(self, ended: Ended) -> None:
        self._ended = self._ended or ended
        self._leaving = True
        self._bell.put(None)

    def _read(self) -> None:
        """Read keys until told to leave; the only thing the thread does."""
        go_first()
        decode = codecs.getincrementaldecoder("utf-8")("replace").decode
        while not self._leaving:
            if not self._waited(LOOK_ROUND_S):
                continue
            time_s = time.perf_counter()
            typed = self._typed()
            if not typed:
                self._end(Ended(How.WENT_AWAY, GONE))
                return
            if typed.endswith(ESCAPE) and self._waited(REST_OF_SEQUENCE_S):
                typed += self._typed()
            self._take(time_s, decode(typed), self._end)

    def _take(self, time_s: float, text: str, end: Callable[[Ended], None]) -> None:
        for key in key_names(text):
            if key == STOP_KEY:
                end(Ended(How.STOPPED))
                return
            self._taps.append(Tap(time_s, key))
        self._bell.put(None)

    def _waited(self, wait_s: float) -> bool:
        return bool(select.select([self._fd], [], [], wait_s)[0])

    def _typed(self) -> bytes:
        """Return what was typed, nothing where the terminal is gone."""
        try:
            return os.read(self._fd, 1024)
        except OSError:
            return b""


def _leave(number: int, _frame: FrameType | None) -> None:
    """End the program as a signal would, but through every ``with`` and ``finally``."""
    sys.exit(128 + number)
