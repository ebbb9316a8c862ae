"""How slow the machine is just now, so that a claim of speed is about the program and not about it.

A bound in seconds holds for the machine it was measured on, idle; elsewhere it is stretched by how
much longer the same work takes there, at this moment.  It is never drawn tighter.
"""

import time

import numpy as np

# Processor seconds of the work below, the least of many on two cores of the machine that was measured on.
MEASURED_S = 0.012
TIMES = 5


def work() -> float:
    """Do a fixed piece of work, half of it in Python and half in numpy; return its processor seconds."""
    begun = time.thread_time()
    figures = {number: str(number) for number in range(60_000)}
    total = sum(len(figures[number]) for number in range(60_000))
    sound = np.arange(4_096, dtype=np.float64) % 97
    for _ in range(100):
        sound = np.abs(np.fft.ifft(np.fft.fft(sound))) + 1 / total
    return time.thread_time() - begun


def stretched(seconds: float) -> float:
    """Return ``seconds`` of a machine that has nothing else to do, as they last on this one now."""
    usual = float(np.median([work() for _ in range(TIMES)]))
    return seconds * max(1.0, usual / MEASURED_S)
