"""What the page of a pack says of any passage, whether a ladder or an entry is practised."""

from rhythmtrain.report.passage.cells import INDENT
from rhythmtrain.report.passage.show import WIDTH, entry_lines, hard_lines, legend
from rhythmtrain.report.passage.systems import systems
from rhythmtrain.report.words import several
from rhythmtrain.score.difficulty.hard import HardSpot
from rhythmtrain.score.passage import Passage

# Columns of the rhythm as text that a phone shows without scrolling; wider screens have more.
PHONE_WIDTH = 40
ENTRIES = "Where you come in"


def drawn_twice(passage: Passage, spots: tuple[HardSpot, ...]) -> dict[str, str]:
    """Return the rhythm with its counts as text, for a narrow and for a wide screen."""
    return {"narrow": _drawn(passage, spots, PHONE_WIDTH), "wide": _drawn(passage, spots, WIDTH)}


def _drawn(passage: Passage, spots: tuple[HardSpot, ...], width: int) -> str:
    """Return the rhythm with its counts as text, and what its signs mean."""
    hard = frozenset(spot.bar for spot in spots)
    lines = "\n\n".join(systems(passage, hard, width=width))
    text = f"{lines}\n\n{legend(lines, width)}".rstrip()
    return "\n".join(line.removeprefix(INDENT) for line in text.split("\n"))


def said_of(passage: Passage, spots: tuple[HardSpot, ...]) -> list[tuple[str, list[str]]]:
    """Return headings with the sentences below them: where one comes in, where it is hard."""
    said = (
        (ENTRIES, list(entry_lines(passage))),
        ("Where it is hard", list(hard_lines(spots))),
    )
    return [(heading, lines) for heading, lines in said if lines]


def facts_line(passage: Passage, tempo: str, *, recorded: bool = False) -> str:
    """Return metre, number of bars and tempo, as written or as recorded, in a line."""
    bars = len({bar.number for bar in passage.bars}) - bool(passage.bars[0].begins)
    upbeat = " and an upbeat" if passage.bars[0].begins else ""
    way = "recorded" if recorded else "written"
    return f"{passage.metre}, {several(bars, 'bar')}{upbeat}, {way} at {tempo}"


def short_tempo(tempo: str) -> str:
    """Return the number of a tempo in words: "36" of "quarter = 36"."""
    return tempo.partition(" = ")[2].removesuffix(" at first")
