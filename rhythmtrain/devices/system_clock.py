"""The clock of a real machine: ``time.perf_counter``, one for all processes on Linux."""

import time


class SystemClock:
    """Seconds of ``time.perf_counter``."""

    def now_s(self) -> float:
        """Return the time in seconds."""
        return time.perf_counter()
