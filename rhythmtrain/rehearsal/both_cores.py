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
from typing import Any, ClassVar, TypeVar

from rhythmtrain.errors import FileError, RhythmtrainError
from rhythmtrain.rehearsal.told import Progress

MOST_PROCESSES = 32

Job = TypeVar("Job")
Done = TypeVar("Done")
Work = Callable[[Job, Progress], Done]


def on_all_cores(
    work: Work[Job, Done], jobs: Sequence[Job], progress: Progress
) -> list[Done | RhythmtrainError]:
    """Return for every job what ``work`` gives for it, or what a person is to be told instead.

    ``work`` and the jobs travel to other processes: a function of a module, and plain values.  The
    progress that ``work`` is given must be told now and then, or it cannot be stopped.
    ``progress`` is told how many jobs are done.

    Raises:
        FileError: the system stopped a process.
    """
    if not jobs:
        return []
    processes = min(os.cpu_count() or 1, len(jobs), MOST_PROCESSES)
    spawned = get_context("spawn")
    stop = spawned.Event()
    pool = ProcessPoolExecutor(processes, spawned, _Process.begin, (stop,))
    try:
        with _unheard_by_children():
            futures = [pool.submit(_one, work, job) for job in jobs]
        for done, _ in enumerate(as_completed(futures), start=1):
            progress(done, len(jobs), "writing tracks")
        return [_outcome(future) for future in futures]
    except BrokenProcessPool as error:
        raise FileError(
            "the system stopped a process that was writing tracks, perhaps for want of memory: "
            "try fewer passages at once"
        ) from error
    finally:
        stop.set()
        pool.shutdown(cancel_futures=True)


def _outcome(future: Future[Any]) -> Any:
    try:
        return future.result()
    except RhythmtrainError as error:
        return error


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


def _one(work: Work[Job, Done], job: Job) -> Done:
    _Process.go_on(0, 0, "")
    return work(job, _Process.go_on)


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
