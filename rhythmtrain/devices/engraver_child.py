"""The process that draws: MEI documents as JSON on stdin, their systems as SVG on stdout.

Run as ``python -m rhythmtrain.devices.engraver_child``; see ``devices.engraver``.
"""

import json
import sys
from typing import Any

MISSING = 3
UNREADABLE = 4
# Pages too low for two systems give every system its own drawing; lengths are the engraver's own.
OPTIONS: dict[str, Any] = {
    "pageHeight": 100, "adjustPageHeight": True, "header": "none",
    "footer": "none", "scale": 100, "svgViewBox": True, "spacingSystem": 0, "spacingStaff": 2,
    "lyricTopMinMargin": 1.0, "lyricWordSpace": 2.2, "pageMarginLeft": 20, "pageMarginRight": 20, "pageMarginTop": 20,
    "pageMarginBottom": 20, "mnumInterval": 0, "breaks": "auto", "xmlIdSeed": 1,
}  # fmt: skip


def main() -> int:
    """Draw what stdin holds and return the exit code."""
    try:
        import verovio  # noqa: PLC0415  (where it is missing the parent process says so)
    except ImportError:
        return MISSING
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    asked = json.load(sys.stdin)
    drawings = []
    for document, width in zip(asked["documents"], asked["widths"], strict=True):
        toolkit.setOptions(OPTIONS | {"pageWidth": width})
        if not toolkit.loadData(document):
            return UNREADABLE
        pages = range(1, toolkit.getPageCount() + 1)
        drawings.append([toolkit.renderToSVG(page) for page in pages])
    json.dump({"drawings": drawings}, sys.stdout)
    return 0


if __name__ == "__main__":
    sys.exit(main())
