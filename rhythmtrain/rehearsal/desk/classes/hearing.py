"""Hearing a class while the page goes on: one class after the other, each on all cores.

Whoever looks is told how far it is; whoever says stop is obeyed within a moment.  What goes wrong
becomes a sentence that stands until the class is heard again.
"""

from collections.abc import Callable
from concurrent.futures import Future, ThreadPoolExecutor
from dataclasses import dataclass, field
from threading import Event, Lock
from typing import Any

from rhythmtrain.errors import RequestError, RhythmtrainError
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.storage.alone import Hold

WAITS, HEARS, DONE, STOPPED, FAILED = "waits", "hears", "done", "stopped", "failed"
GOING = (WAITS, HEARS)
LEFT_OFF = "the program ended in the middle; what was brought is all there, hear the class again"
Document = dict[str, Any]
Work = Callable[[Progress], None]


class StoppedError(RhythmtrainError):
    """Somebody said stop; nobody is told of it but whoever said so."""


@dataclass(slots=True)
class Hearing:
    """How far one class is: ``state``, ``done`` of ``total`` students, what went wrong."""

    total: int
    state: str = WAITS
    done: int = 0
    sentence: str = ""
    stop: Event = field(default_factory=Event)

    def progress(self, done: float, _total: float, _what: str) -> None:
        """Be told how many are heard, and leave off where that was said."""
        self.done = int(done)
        if self.stop.is_set():
            raise StoppedError("stopped")

    def told(self) -> Document:
        """Return where it stands as the page shows it."""
        return {
            "state": self.state,
            "done": self.done,
            "total": self.total,
            "sentence": self.sentence,
        }


class Hearings:
    """The classes that are heard, were heard, or wait for their turn in this sitting."""

    def __init__(self) -> None:
        """Begin with none."""
        self._hearings: dict[str, Hearing] = {}
        self._lock = Lock()
        self._turns = ThreadPoolExecutor(1, "class")
        self._last: Future[None] | None = None

    def begin(self, name: str, students: int, work: Work, hold: Hold | None = None) -> Document:
        """Hear the class ``name`` by ``work`` when its turn comes; RequestError while it is heard.

        ``hold`` keeps other programs from it, and is let go before it is said to be heard.
        """
        with self._lock:
            self._check_free(name)
            hearing = self._hearings[name] = Hearing(students)
            self._last = self._turns.submit(_heard, hearing, work, hold)
        return hearing.told()

    def told(self, name: str) -> Document | None:
        """Return where the class ``name`` stands, None where nothing was asked of it."""
        hearing = self._hearings.get(name)
        return None if hearing is None else hearing.told()

    def stop(self, name: str) -> Document | None:
        """Leave off hearing the class ``name``."""
        hearing = self._hearings.get(name)
        if hearing is not None:
            hearing.stop.set()
        return self.told(name)

    def check_free(self, name: str) -> None:
        """Raise RequestError while the class ``name`` is heard: nothing of it can be changed then."""
        with self._lock:
            self._check_free(name)

    def wait(self) -> None:
        """Wait until the class that was asked for last is heard."""
        if self._last is not None:
            self._last.result()

    def close(self) -> None:
        """Leave off whatever is heard, and end."""
        for hearing in tuple(self._hearings.values()):
            hearing.stop.set()
        self._turns.shutdown()

    def _check_free(self, name: str) -> None:
        hearing = self._hearings.get(name)
        if hearing is not None and hearing.state in GOING:
            raise RequestError(
                "this class is being heard just now: wait until it is done, or stop it"
            )


def _heard(hearing: Hearing, work: Work, hold: Hold | None) -> None:
    """Do the work of one class, and say how it ended."""
    try:
        _worked(hearing, work, hold)
    except StoppedError:
        hearing.state = STOPPED
    except RhythmtrainError as error:
        hearing.sentence = str(error)
        hearing.state = FAILED
    except BaseException:
        hearing.sentence = LEFT_OFF
        hearing.state = FAILED
        raise
    else:
        hearing.done, hearing.state = hearing.total, DONE


def _worked(hearing: Hearing, work: Work, hold: Hold | None) -> None:
    try:
        hearing.progress(0, hearing.total, "")
        hearing.state = HEARS
        work(hearing.progress)
    finally:
        if hold is not None:
            hold.let_go()
