"""Threads that only stamp or copy are woken before others, where the system allows it.

On a busy machine a thread waits for its turn, and a stamp taken late is an honest player called
late.  Linux lets a thread go first (the lowest real-time priority of POSIX), given a right that
systems set up for sound hand out; without it nothing changes.  Measured with five busy processes
on two cores, the latest of 200 keys: 0.6 ms with it, 6.5 ms without; see tests/real.

Only for threads that sleep nearly all the time: one that computes would hold up the machine.

Within Python one thread runs at a time, and one that wants to run waits 5 ms by default until
another gives way; a turn of 256 frames lasts 5.3 ms.  ``quick_turns`` makes that half a
millisecond while sound is played.  The one that gives way must itself be running for that, so
``go_sooner`` lets threads that compute for the sound be held up less by other programs.

Nothing runs while Python looks through all its objects for circles of garbage: 39 ms where a take
of two and a half minutes was being gathered, measured on two cores, and half of the underruns of a
long one.  So while sound is played it only looks through the young ones.
"""

import gc
import os
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any

LOWEST = 1
TURN_S = 0.0005
NICE = -10
NEVER = 2**30


def go_first() -> bool:
    """Let the calling thread run before ordinary ones; return whether it does now."""
    if sys.platform != "linux":
        return False
    try:
        if os.sched_getscheduler(0) == os.SCHED_OTHER:
            os.sched_setscheduler(0, os.SCHED_RR, os.sched_param(LOWEST))
    except OSError:
        return False
    return True


def go_sooner() -> Callable[[], None]:
    """Let other programs hold up the calling thread less; return what undoes it, in that thread."""
    if sys.platform != "linux":
        return _nothing
    thread = threading.get_native_id()
    before = os.getpriority(os.PRIO_PROCESS, thread)
    try:
        os.setpriority(os.PRIO_PROCESS, thread, min(NICE, before))
    except OSError:
        return _nothing
    return lambda: os.setpriority(os.PRIO_PROCESS, thread, before)


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

    The calling thread is held up less by other programs.
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
