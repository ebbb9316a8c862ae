"""Doing many jobs at once, one process for every core.

The processes are started afresh (*spawn*), alike on every system, and share nothing but a sign
that says stop.  Ctrl-C reaches this process alone: it gives the sign, the others leave off between
two blocks of sound and take their unfinished file away, and nobody is left behind.  Where this
process is killed and can give no sign, the others end with it.
"""

import os
import signal
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ProcessPoolExecutor, wait
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from multiprocessing import get_context, parent_process
from multiprocessing.process import BaseProcess
from multiprocessing.synchronize import Event
from threading import Thread
from typing import Any, ClassVar, TypeVar

from rhythmtrain.errors import FileError, RhythmtrainError
from rhythmtrain.rehearsal.told import Progress

MOST_PROCESSES = 32
TELL_EVERY_S = 0.25

Job = TypeVar("Job")
Done = TypeVar("Done")
Work = Callable[[Job, Progress], Done]


def on_all_cores(
    work: Work[Job, Done],
    jobs: Sequence[Job],
    progress: Progress,
    *,
    what: str = "writing tracks",
    hardy: bool = False,
) -> list[Done | RhythmtrainError]:
    """Return for every job what ``work`` gives for it, or what a person is to be told instead.

    ``work`` and the jobs travel to other processes: a function of a module, and plain values.  The
    progress that ``work`` is given must be told now and then, or it cannot be stopped.
    ``progress`` is told how many jobs are done, and ``what`` they are, several times a second; what
    it raises stops everything.  With ``hardy`` a job that
    brings its process down is told of like any other failure, and the rest are done all the same.

    Raises:
        FileError: the system stopped a process, and ``hardy`` was not asked for.
    """
    if not jobs:
        return []
    outcomes: dict[int, Done | RhythmtrainError] = {}

    def report() -> None:
        progress(len(outcomes), len(jobs), what)

    try:
        _together(work, jobs, outcomes, report)
    except BrokenProcessPool as error:
        if not hardy:
            raise FileError(
                f"the system stopped a process that was {what}, perhaps for want of memory: "
                "try fewer passages at once"
            ) from error
        for number, job in enumerate(jobs):
            if number not in outcomes:
                outcomes[number] = _alone(work, job, what)
                report()
    return [outcomes[number] for number in range(len(jobs))]


def _together(
    work: Work[Job, Done],
    jobs: Sequence[Job],
    outcomes: dict[int, Done | RhythmtrainError],
    report: Callable[[], None],
) -> None:
    """Do all jobs on all cores, and put what each gives into ``outcomes`` as it is done."""
    with _processes(min(os.cpu_count() or 1, len(jobs), MOST_PROCESSES)) as pool:
        with _unheard_by_children():
            futures = {pool.submit(_one, work, job): number for number, job in enumerate(jobs)}
        waiting = set(futures)
        while waiting:
            done, waiting = wait(waiting, TELL_EVERY_S, FIRST_COMPLETED)
            for future in done:
                outcomes[futures[future]] = _outcome(future)
            report()


def _alone(work: Work[Job, Done], job: Job, what: str) -> Done | RhythmtrainError:
    """Do one job in a process of its own."""
    with _processes(1) as pool:
        with _unheard_by_children():
            future = pool.submit(_one, work, job)
        outcome: Done | RhythmtrainError
        try:
            outcome = _outcome(future)
        except BrokenProcessPool:
            outcome = FileError(
                f"the system stopped the process that was {what}: is the file sound?"
            )
        return outcome


@contextmanager
def _processes(many: int) -> Iterator[ProcessPoolExecutor]:
    """Give processes that leave off when this block is left, however it is left."""
    spawned = get_context("spawn")
    stop = spawned.Event()
    pool = ProcessPoolExecutor(many, spawned, _Process.begin, (stop,))
    try:
        yield pool
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
        Thread(target=_end_with, args=(parent_process(),), daemon=True).start()

    @classmethod
    def go_on(cls, _done: float, _total: float, _what: str) -> None:
        if cls.stop.is_set():
            raise KeyboardInterrupt


def _end_with(parent: BaseProcess | None) -> None:
    """End this process when ``parent`` is no more: its jobs are nobody's then."""
    if parent is not None:
        parent.join()
        os._exit(1)


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
