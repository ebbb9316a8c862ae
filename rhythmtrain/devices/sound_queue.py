"""Between a track and a driver's callback: a queue that a thread keeps a second ahead.

The thread makes even blocks of the track; the callback takes as many frames as it is asked for and
never waits.  Where the track is late the callback gets silence and owes those frames: they are left
out when they come, so that the count of frames stays the track's.
"""

import threading
from collections.abc import Iterable
from queue import Empty, SimpleQueue

from rhythmtrain.devices.blocks import even_blocks
from rhythmtrain.devices.ports import Block
from rhythmtrain.devices.waking import go_sooner

AHEAD_S = 1.0
LOOK_EVERY_S = 0.02
FIRST_WAIT_S = 20.0


class SoundQueue:
    """The frames of ``blocks`` and a tail of silence, in blocks of ``size`` frames."""

    def __init__(
        self, blocks: Iterable[Block], size: int, *, channels: int, rate: int, tail_s: float
    ) -> None:
        """Take the track; nothing is made before ``start``."""
        self._pages = even_blocks(blocks, size, channels=channels, tail=round(tail_s * rate))
        self._most = max(4, round(AHEAD_S * rate / size))
        self._queue: SimpleQueue[Block | None] = SimpleQueue()
        self._page: Block | None = None
        self._owed = 0
        self._leaving = threading.Event()
        self._ready = threading.Event()
        self._maker = threading.Thread(target=self._make, name="track", daemon=True)
        self.error: BaseException | None = None
        self.over = False

    def start(self, wait_s: float = FIRST_WAIT_S) -> None:
        """Begin to make the track, and return when a second of it (or all) is there.

        A track that takes longer than ``wait_s`` seconds to make is begun without.
        """
        self._maker.start()
        self._ready.wait(wait_s)

    def leave(self) -> None:
        """Stop making the track."""
        self._leaving.set()
        self._maker.join()

    def take(self, out: Block) -> bool:
        """Fill ``out``, shape (frames, channels); return False where the track was late.

        ``over`` is set when the last frame has been taken.  Called by the driver: never waits.
        """
        filled = 0
        while filled < len(out) and not self.over:
            if self._page is None and not self._turn_page():
                break
            if self._page is not None:
                part = self._page[: len(out) - filled]
                out[filled : filled + len(part)] = part
                self._page = self._page[len(part) :] if len(part) < len(self._page) else None
                filled += len(part)
        out[filled:] = 0
        late = 0 if self.over else len(out) - filled
        self._owed += late
        return late == 0

    def _turn_page(self) -> bool:
        """Take the next page less what is owed; False where none is there yet."""
        try:
            page = self._queue.get_nowait()
        except Empty:
            return False
        if page is None:
            self.over = True
            return True
        gone = min(self._owed, len(page))
        self._owed -= gone
        self._page = page[gone:] if gone < len(page) else None
        return True

    def _make(self) -> None:
        try:
            for page in self._pages:
                self._queue.put(page)
                while self._queue.qsize() >= self._most and not self._leaving.is_set():
                    self._be_ready()
                    self._leaving.wait(LOOK_EVERY_S)
                if self._leaving.is_set():
                    return
        except BaseException as error:  # noqa: BLE001  (handed to the thread that polls)
            self.error = error
        finally:
            self._queue.put(None)
            self._ready.set()

    def _be_ready(self) -> None:
        """Let the sound begin; from then on the track must be made while it is played."""
        if not self._ready.is_set():
            go_sooner()
            self._ready.set()
