"""How well held notes are heard: ``python -m tests.simulate.note_table [lines] [first]``.

Lines of the half "held out" from number ``first`` on: for each style and player the share of notes
that were heard, and in brackets how many onsets were heard where nothing began.
"""

import sys

from rhythmtrain.hearing.onsets.onsets import find_onsets
from tests.simulate.note_lines import PLAYERS, STYLES, note_line
from tests.simulate.onset_score import Score, scored


def measured(half: str, name: str, style: str, *, count: int, first: int) -> Score:
    """Return how ``count`` lines of a player in a style are heard."""
    lines = (note_line(half, name, style, number) for number in range(first, first + count))
    return scored(
        (line.onsets_s, [o.time_s for o in find_onsets(line.sound, line.rate, kind="wind")])
        for line in lines
    )


def main(count: int, first: int) -> None:
    """Print the table from ``count`` lines of each cell."""
    print("          " + "".join(f"{name:>14s}" for name in PLAYERS))  # noqa: T201
    for style in STYLES:
        cells = [measured("held out", n, style, count=count, first=first) for n in PLAYERS]
        told = (f"{c.matched / c.true:.2f} ({c.found - c.matched}/{c.true})" for c in cells)
        print(f"{style:10s}" + "".join(f"{cell:>14s}" for cell in told), flush=True)  # noqa: T201


if __name__ == "__main__":
    words = sys.argv[1:]
    main(int(words[0]) if words else 3, int(words[1]) if len(words) > 1 else 0)
