"""Sees when the machine itself stands still: a process that sleeps, and notes when it woke late.

``python -m tests.real.witness CPU SECONDS`` stays on one processor, before every sound server and
its clients where the system allows it.  What keeps it from waking keeps them too: a virtual machine
whose processor is lent elsewhere for 10 ms, as was seen on two of them.  Prints JSON: the stretches,
on the clock of ``time.perf_counter``, in which it should have woken and did not.
"""

import json
import os
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress

NAP_S = 0.001
LATE_S = 0.002
PRIORITY = 20

Stretch = tuple[float, float]


def main(cpu: int, seconds: float) -> None:
    """Sleep and wake until the time is over."""
    os.sched_setaffinity(0, {cpu})
    with suppress(PermissionError):
        os.sched_setscheduler(0, os.SCHED_FIFO, os.sched_param(PRIORITY))
    stood: list[Stretch] = []
    woke_s = time.perf_counter()
    end_s = woke_s + seconds
    while woke_s < end_s:
        due_s = woke_s + NAP_S
        time.sleep(NAP_S)
        woke_s = time.perf_counter()
        if woke_s - due_s > LATE_S:
            stood.append((due_s, woke_s))
    print(json.dumps(stood))


class Witnesses:
    """One process on each processor, and afterwards what they saw."""

    def __init__(self, seconds: float) -> None:
        """Start them."""
        self._started = [
            subprocess.Popen(
                [sys.executable, "-m", "tests.real.witness", str(cpu), str(seconds)],
                stdout=subprocess.PIPE, text=True,
            )
            for cpu in sorted(os.sched_getaffinity(0))
        ]  # fmt: skip

    def saw(self) -> list[Stretch]:
        """Wait for them, and return when the machine stood still."""
        told = [each.communicate()[0] for each in self._started]
        return sorted((begun, over) for text in told for begun, over in json.loads(text))

    def dismiss(self) -> None:
        """Let none stay."""
        for each in self._started:
            if each.poll() is None:
                each.kill()
                each.communicate()


@contextmanager
def watched(seconds: float) -> Iterator[Witnesses]:
    """Let the processors be watched for ``seconds``."""
    witnesses = Witnesses(seconds)
    try:
        yield witnesses
    finally:
        witnesses.dismiss()


if __name__ == "__main__":
    main(int(sys.argv[1]), float(sys.argv[2]))
