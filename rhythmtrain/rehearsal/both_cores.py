"""Writing many tracks at once, one process for every core.

The processes are started afresh (*spawn*), alike on every system, and share nothing but a sign
that says stop.  Ctrl-C reaches this process alone: it gives the sign, the others leave off between
two blocks of sound and take their unfinished file away, and nobody is left behind.
"""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context
from multiprocessing.synchronize import Event
from typing import ClassVar, TypeVar

from rhythmtrain.errors import FileError, RhythmtrainError
from rhythmtrain.rehearsal.told import Progress

MOST_PROCESSES = 32

Job = TypeVar("Job")
Work = Callable[[Job, Progress], None]


def write_all(
    work: Work[Job], jobs: Sequence[Job], progress: Progress
) -> dict[int, RhythmtrainError]:
    """Do ``work`` for every job on all cores; return what went wrong, by the job's index.

    ``work`` and the jobs travel to other processes: a function of a module, and plain values.
    ``progress`` is told how many jobs are done.

    Raises:
        FileError: the system stopped a process.
    """
    processes = min(os.cpu_count() or 1, len(jobs), MOST_PROCESSES)
    spawned = get_context("spawn")
    stop = spawned.Event()
    pool = ProcessPoolExecutor(processes, spawned, _Process.begin, (stop,))
    try:
        with _unheard_by_children():
            places = {pool.submit(_one, work, job): place for place, job in enumerate(jobs)}
        return dict(_failures(places, progress))
    except BrokenProcessPool as error:
        raise FileError(
            "the system stopped a process that was writing tracks, perhaps for want of memory: "
            "try fewer passages at once"
        ) from error
    finally:
        stop.set()
        pool.shutdown(cancel_futures=True)


def _failures(
    places: dict[Future[None], int], progress: Progress
) -> Iterator[tuple[int, RhythmtrainError]]:
    for done, future in enumerate(as_completed(places), start=1):
        progress(done, len(places), "writing tracks")
        try:
            future.result()
        except RhythmtrainError as error:
            yield places[future], error


class _Process:
    """What a process of the pool knows: the sign that says stop."""

    stop: ClassVar[Event]

    @classmethod
    def begin(cls, stop: Event) -> None:
        signal.signal(signal.SIGINT, signal.SIG_IGN)
        cls.stop = stop

    @classmethod
    def go_on(cls, _done: float, _total: float, _what: str) -> None:
        if cls.stop.is_set():
            raise KeyboardInterrupt


def _one(work: Work[Job], job: Job) -> None:
    _Process.go_on(0, 0, "")
    work(job, _Process.go_on)


@contextmanager
def _unheard_by_children() -> Iterator[None]:
    """Start processes to which Ctrl-C is not given, not even while they are starting."""
    if not hasattr(signal, "pthread_sigmask"):
        yield
        return
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
