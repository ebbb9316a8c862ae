"""The engraver: music drawn in a process of its own.

The library that draws (verovio) is large and written in C++; whatever a document does to it, the
process that asked goes on and says so in one line.  The two talk once: one JSON document each way.
"""

import json
import subprocess
import sys
from collections.abc import Sequence

from rhythmtrain.errors import DeviceError, MissingPartError
from rhythmtrain.remedies import remedy

CHILD = "rhythmtrain.devices.engraver_child"
PATIENCE_S = 60.0
MISSING = 3
ON_PAPER = 1850


def engrave(
    documents: Sequence[str],
    *,
    width: int = ON_PAPER,
    widths: Sequence[int] = (),
    patience_s: float = PATIENCE_S,
    child: str = CHILD,
) -> tuple[tuple[str, ...], ...]:
    """Return for each MEI document its systems from top to bottom, each one SVG drawing.

    ``width`` is that of a system, in the drawing's units, and ``widths`` those of each document's where
    they differ; ``child`` is the module that draws.

    Raises:
        MissingPartError: the engraver is not installed.
        DeviceError: it crashed, took longer than ``patience_s`` seconds, or could not read.
    """
    command = [sys.executable, "-m", child]
    wide = list(widths) or [width] * len(documents)
    asked = json.dumps({"documents": list(documents), "widths": wide})
    try:
        done = subprocess.run(  # noqa: S603
            command, input=asked, capture_output=True, text=True, encoding="utf-8",
            timeout=patience_s, check=False,
        )  # fmt: skip
    except subprocess.TimeoutExpired as error:
        raise DeviceError(
            f"the engraver did not finish within {patience_s:g} s: {remedy('fewer-bars')}"
        ) from error
    if done.returncode == MISSING:
        raise MissingPartError("drawing notes needs verovio: pip install verovio")
    if done.returncode != 0:
        raise DeviceError(
            f"the engraver stopped (code {done.returncode}) while drawing these bars: "
            f"{remedy('other-bars')} to find the one it cannot draw"
        )
    answer = json.loads(done.stdout)
    return tuple(tuple(systems) for systems in answer["drawings"])
