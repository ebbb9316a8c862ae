"""Keys of a Windows console as taps, by the console's own reads.

``msvcrt`` gives keys one by one and unechoed without changing the console, so there is nothing to
restore.  A key is looked for every millisecond (the console cannot be awaited with ``select``).
Left out of the coverage floor: the module exists only on Windows.
"""

import sys
import threading
import time
from collections import deque
from typing import Self

from rhythmtrain.devices.key_names import key_names
from rhythmtrain.devices.ports import STOP_KEY, Ended, How, Tap

STAMP_ERROR_S = 0.002
LOOK_EVERY_S = 0.001
SPECIAL = {"\x00", "\xe0"}


class ConsoleKeys:
    """Keys typed into the console."""

    name = "keys"
    stamp_error_s = STAMP_ERROR_S

    def __init__(self) -> None:
        """Take the console; nothing is read before the port is entered."""
        self._taps: deque[Tap] = deque()
        self._come = threading.Event()
        self._ended: Ended | None = None
        self._reader = threading.Thread(target=self._read, name="keys", daemon=True)

    @property
    def ended(self) -> Ended | None:
        """Return how the port ended, None while it works or has taps to give."""
        return None if self._taps else self._ended

    def stop(self) -> None:
        """Stop now."""
        self._ended = self._ended or Ended(How.STOPPED)
        self._come.set()

    def poll(self, wait_s: float = 0.0) -> tuple[Tap, ...]:
        """Return the taps since the last time, waiting up to ``wait_s`` seconds for one."""
        self._come.wait(wait_s)
        if self._ended is None:
            self._come.clear()
        return tuple(self._taps.popleft() for _ in range(len(self._taps)))

    def __enter__(self) -> Self:
        """Listen."""
        self._reader.start()
        return self

    def __exit__(self, *_: object) -> None:
        """Stop listening."""
        self.stop()
        self._reader.join()

    def _read(self) -> None:
        if sys.platform == "win32":
            import msvcrt  # noqa: PLC0415  (Windows only)

            while self._ended is None:
                if not msvcrt.kbhit():
                    time.sleep(LOOK_EVERY_S)
                    continue
                time_s = time.perf_counter()
                typed = msvcrt.getwch()
                name = f"key {msvcrt.getwch()}" if typed in SPECIAL else "".join(key_names(typed))
                if name == STOP_KEY:
                    self.stop()
                elif name:
                    self._taps.append(Tap(time_s, name))
                    self._come.set()
