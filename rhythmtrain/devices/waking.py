"""Threads that only stamp or copy are woken before others, where the system allows it.

On a busy machine a thread waits for its turn, and a stamp taken late is an honest player called
late.  Linux lets a thread go first (the lowest real-time priorities of POSIX), given a right that
systems set up for sound hand out; without it nothing changes.  Measured with five busy processes
on two cores, the latest of 200 keys: 0.6 ms with it, 6.5 ms without; see tests/real.

Within Python one thread runs at a time, and one that wants to run waits 5 ms by default until
another gives way; a turn of 256 frames lasts 5.3 ms.  ``quick_turns`` makes that half a
millisecond while sound is played.  The one that gives way must itself be running for that: held up
by another program for 10 to 20 ms, it held up the sound card's thread, twice a minute with load on
two cores.  So ``go_sooner`` lets threads that make the sound, and whatever else computes in Python
while it sounds, go before other programs too, one step below those that stamp; a lower ``nice`` alone
does not help against programs of another session, which Linux weighs as a whole.  They sleep nine
tenths of the time, and are not yet that soon while the first second of a track is made: a thread that
computes for long would hold up the machine.  With twelve busy processes on two cores a turn waited up
to 120 ms for the one thread that learns the room beside a microphone while that was an ordinary one,
and 25 to 72 turns of 2900 were lost; 2 ms and none since it goes sooner.

Nothing runs while Python looks through all its objects for circles of garbage: 39 ms where a take
of two and a half minutes was being gathered, measured on two cores, and half of the underruns of a
long one.  So while sound is played it only looks through the young ones.
"""

import gc
import os
import sys
import threading
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

MAKING, STAMPING = 1, 2  # priorities: of threads that make sound, of those that stamp and copy
CALLER = 0
TASKS = Path("/proc/self/task")
TURN_S = 0.0005
NICE = -10
NEVER = 2**30


def go_first() -> bool:
    """Let the calling thread run before all ordinary ones; return whether it does now."""
    return sys.platform == "linux" and _raised(STAMPING)


def threads() -> frozenset[int]:
    """Return the numbers of all threads of this process, Python's and others; none but on Linux."""
    there = TASKS.iterdir() if sys.platform == "linux" else ()
    return frozenset(int(each.name) for each in there)


def let_go_first(numbers: Iterable[int]) -> None:
    """Let other threads of this process run before all ordinary ones, where the system allows it.

    A sound system has threads of its own in whoever plays: PulseAudio's hands on every block, and
    held up it moves all that is played and heard by half a second, and tells nobody.
    """
    for number in numbers:
        with suppress(OSError):  # refused, or over by now
            _raise(number, STAMPING)


def go_sooner() -> Callable[[], None]:
    """Let other programs hold up the calling thread less; return what undoes it, in that thread."""
    if sys.platform != "linux" or not _ordinary(CALLER):
        return _nothing
    if _raised(MAKING):
        as_usual = os.SCHED_OTHER | os.SCHED_RESET_ON_FORK
        return lambda: os.sched_setscheduler(0, as_usual, os.sched_param(0))
    thread = threading.get_native_id()
    nice = os.getpriority(os.PRIO_PROCESS, thread)
    try:
        os.setpriority(os.PRIO_PROCESS, thread, min(NICE, nice))
    except OSError:
        return _nothing
    return lambda: os.setpriority(os.PRIO_PROCESS, thread, nice)


def _raised(priority: int) -> bool:
    """Return whether the calling thread goes first now; threads that it starts do not."""
    try:
        _raise(CALLER, priority)
    except OSError:
        return False
    return True


def _raise(number: int, priority: int) -> None:
    if _ordinary(number):
        policy = os.SCHED_RR | os.SCHED_RESET_ON_FORK
        os.sched_setscheduler(number, policy, os.sched_param(priority))


def _ordinary(number: int) -> bool:
    """Return whether a thread waits for its turn like any other."""
    return os.sched_getscheduler(number) & ~os.SCHED_RESET_ON_FORK == os.SCHED_OTHER


def _nothing() -> None:
    """Undo nothing."""


def going_first(heard: Callable[[Any], None]) -> Callable[[Any], None]:
    """Return ``heard``, whose calling thread goes first from its first call on."""
    called = False

    def call(what: Any) -> None:
        nonlocal called
        if not called:
            called = True
            go_first()
        heard(what)

    return call


@contextmanager
def quick_turns() -> Iterator[None]:
    """Let Python's threads give way to each other sooner, and nothing stop them all for long.

    The calling thread, which has little to do meanwhile, is held up less by other programs.
    """
    before_s = sys.getswitchinterval()
    young, middle, old = gc.get_threshold()
    sys.setswitchinterval(min(TURN_S, before_s))
    gc.set_threshold(young, middle, NEVER)
    as_before = go_sooner()
    try:
        yield
    finally:
        as_before()
        gc.set_threshold(young, middle, old)
        sys.setswitchinterval(before_s)
