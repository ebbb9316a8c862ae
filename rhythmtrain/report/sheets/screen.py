"""Engraved systems for a screen: the sheet's drawing, with its bars and notes named.

On paper names are taken away; here each bar is ``m`` with its place in the passage, each sign ``b`` with the
bar's place and ``s`` with its own ("b3s1"), so that a page can frame the bar that sounds and set
marks under the notes.
"""

import re
from collections.abc import Sequence

from rhythmtrain.report.sheets.svg import Drawing

_NAMED = re.compile(r' id="(?!E[0-9A-F]{3}-|m\d+"|b\d+s\d+")[^"]*"')
_GLYPHS = re.compile(r'(id="|href="#)(E[0-9A-F]{3})-\w+"')
_ROOTED = re.compile(r"(?<=[>,}\s])#\w+ (?=g\.|ellipse|path|poly|rect)")
_DESCRIBED = re.compile(r"\s*<desc>.*?</desc>", re.DOTALL)
_OUTER = re.compile(r"<svg[^>]*>")


def screen_systems(systems: Sequence[Drawing]) -> tuple[str, ...]:
    """Return each system as SVG that scales to the width it is given, its glyphs its own."""
    return tuple(_screened(system, f"y{number}") for number, system in enumerate(systems))


def _screened(system: Drawing, name: str) -> str:
    inside = _DESCRIBED.sub("", _OUTER.sub("", system.svg, count=1))
    inside = _GLYPHS.sub(rf'\1\2-{name}"', _NAMED.sub("", inside))
    rooted = _ROOTED.sub(f".{name} ", inside)
    opening = (
        f'<svg class="system {name}" xmlns="http://www.w3.org/2000/svg" '
        f'xmlns:xlink="http://www.w3.org/1999/xlink" aria-hidden="true" focusable="false" '
        f'viewBox="0 0 {system.width:g} {system.height:g}" overflow="visible">'
    )
    return opening + rooted
