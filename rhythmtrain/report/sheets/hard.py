"""Hard bars marked on a sheet: a bracket with the word in the lane below, and why at the end.

The notes stay black and unmarked; what is said about them stands under them, by shape and word as well
as by colour (blue of Okabe and Ito 2008).
"""

from textwrap import wrap

from rhythmtrain.report.passage.show import hard_lines
from rhythmtrain.report.sheets.svg import Drawing
from rhythmtrain.score.difficulty.hard import hard_spots
from rhythmtrain.score.passage import Passage

BLUE = "#0072B2"
INSET, FEET, HOOK = 10, 34, 16
WORD_SIZE, WORD_LINE = 30, 66
ROOM_FOR_NUMBER = 190
LINE_LETTERS = 100


def hard_lane(passage: Passage, system: Drawing, font: str) -> str:
    """Return what stands in the lane below ``system``: a bracket and a word under each hard bar."""
    hard = {spot.bar for spot in hard_spots(passage)}
    marks = [
        _mark(
            passage.bars[index].number,
            left * system.scale + INSET,
            right * system.scale - INSET,
            font,
        )
        for index, left, right in system.bars
        if passage.bars[index].number in hard
    ]
    return "".join(marks)


def hard_words(passage: Passage, *, british: bool = False) -> tuple[str, ...]:
    """Return lines that say which bars are hard and why, at most 100 letters each."""
    lines = hard_lines(hard_spots(passage, british=british))
    return tuple(part for line in lines for part in wrap(line, LINE_LETTERS))


def _mark(number: int, left: float, right: float, font: str) -> str:
    name = f"bar {number}" if number else "upbeat"
    words = f"{name}: hard" if right - left >= ROOM_FOR_NUMBER else "hard"
    bracket = f"M{left:g} {FEET - HOOK} V{FEET} H{right:g} V{FEET - HOOK}"
    return (
        f'<path class="hard" d="{bracket}" fill="none" stroke="{BLUE}" stroke-width="5"/>'
        f'<text class="hard" x="{(left + right) / 2:g}" y="{WORD_LINE}" text-anchor="middle" '
        f'font-family="{font}" font-size="{WORD_SIZE}px" fill="{BLUE}">{words}</text>'
    )
