"""Keys of the terminal that this process runs in, stamped; rows of JSON to standard error.

``python -m tests.real.child_keys HOW``: "taps" tells every tap until Escape; "raise" raises once it
listens; "wait" only waits.
"""

import json
import sys

from rhythmtrain.devices.keys import TerminalKeys
from rhythmtrain.errors import DeviceError

QUIET_S = 20.0


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


def _tell(row: dict[str, object]) -> None:
    sys.stderr.write(json.dumps(row) + "\n")
    sys.stderr.flush()


if __name__ == "__main__":
    try:
        main(sys.argv[1])
    except DeviceError as error:
        _tell({"error": str(error)})
    except (KeyboardInterrupt, RuntimeError) as error:
        _tell({"raised": type(error).__name__})
