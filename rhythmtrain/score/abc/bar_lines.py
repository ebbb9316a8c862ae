"""What a bar line of ABC says: repeats, endings, double bars (ABC 2.1, sections 4.8 and 4.9).

``::|`` is played three times in all; ``|1`` and ``[1`` begin an ending.  A ``:|`` without a start goes back
to the last double bar, so a double bar opens what may be repeated.
"""

import re
from dataclasses import dataclass

DOUBLE = ("||", "|]")
ENDS_ENDINGS = (*DOUBLE, "[|")
_LINE = re.compile(r"\.?(\[(?=\d)|\[?[:|\]]*)(.*)", re.DOTALL)


@dataclass(frozen=True, slots=True)
class BarLine:
    """A bar line: ``closes`` and ``opens`` are how many dots stand on each side of it.

    ``drawn`` is whether there is a line at all, and not only the number of an ending.
    """

    drawn: bool
    closes: int = 0
    opens: int = 0
    double: bool = False
    ends_endings: bool = False
    endings: tuple[int, ...] = ()

    @property
    def plain(self) -> bool:
        """Return whether nothing is said but that a bar ends."""
        return not (self.closes or self.opens or self.double or self.ends_endings or self.endings)

    @property
    def times(self) -> int:
        """Return how often in all the repeat is played that closes here; 0 is twice."""
        return 0 if self.closes == 1 else self.closes + 1


def bar_line(text: str) -> BarLine:
    """Return what the bar line ``text`` says."""
    found = _LINE.match(text)
    line, ending = (found[1], found[2]) if found else (text, "")
    before, _, after = line.partition("|") if "|" in line else (line[::2], "", line[1::2])
    opens = after.count(":")
    digits = {int(each) for each in re.findall(r"\d{1,2}", ending)}
    return BarLine(
        drawn=bool(line.strip("[")),
        closes=before.count(":"),
        opens=opens,
        double=line in DOUBLE,
        ends_endings=line in ENDS_ENDINGS or bool(opens),
        endings=tuple(sorted(digits - {0})),
    )
