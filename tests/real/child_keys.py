"""Keys of the terminal that this process runs in, stamped; rows of JSON to standard error.

``python -m tests.real.child_keys HOW``: "taps" tells every tap until Escape; "raise" raises once it
listens; "wait" only waits; "interrupted" is stopped at every step of waiting, each time anew.
"""

import json
import sys
from collections.abc import Callable
from types import FrameType
from typing import Any

from rhythmtrain.devices.keys import TerminalKeys
from rhythmtrain.errors import DeviceError

QUIET_S = 300.0
STEP_S = 0.02


def main(how: str) -> None:
    """Listen until something ends it."""
    with TerminalKeys() as keys:
        _tell({"listening": True})
        if how == "raise":
            raise RuntimeError(how)
        waited_s = 0.0
        while keys.ended is None and waited_s < QUIET_S:
            taps = keys.poll(0.1)
            waited_s += 0.0 if taps else 0.1
            for tap in taps:
                _tell({"time_s": tap.time_s, "what": tap.what})
    ended = keys.ended
    _tell({"ended": ended.how.value if ended else None, "reason": ended.reason if ended else None})


def interrupted() -> None:
    """Wait for keys, stopped at the first step of Python, then at the second, until none is left."""
    steps = 0
    stopped = True
    while stopped:
        steps += 1
        with TerminalKeys() as keys:
            keys.poll(STEP_S)
            sys.settrace(_stopping_at(steps))
            try:
                keys.poll(STEP_S)
                stopped = False
            except KeyboardInterrupt:
                stopped = True
            finally:
                sys.settrace(None)
    _tell({"steps": steps})


def _stopping_at(number: int) -> Callable[[FrameType, str, object], Any]:
    """Return what raises KeyboardInterrupt at the step of that number, as a signal would."""
    left = number

    def trace(_frame: FrameType, _event: str, _value: object) -> Any:
        nonlocal left
        left -= 1
        if left == 0:
            sys.settrace(None)
            raise KeyboardInterrupt
        return trace

    return trace


def _tell(row: dict[str, object]) -> None:
    sys.stderr.write(json.dumps(row) + "\n")
    sys.stderr.flush()


if __name__ == "__main__":
    try:
        interrupted() if sys.argv[1] == "interrupted" else main(sys.argv[1])
    except DeviceError as error:
        _tell({"error": str(error)})
    except (KeyboardInterrupt, RuntimeError) as error:
        _tell({"raised": type(error).__name__})
