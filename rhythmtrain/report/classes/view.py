"""What the page of a class shows of a student: a cell for every bar, in shape and words.

A cell says the one thing of its bar that a teacher would hear first; a bar of which nothing is
said was right, and one that was not reached says so.  Nothing is coloured by how good it is.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from rhythmtrain.assess.findings import Verdict
from rhythmtrain.report.take.advice import TOO_LITTLE, Advice
from rhythmtrain.report.take.flags import LITTLE, entries_amiss
from rhythmtrain.report.take.gone_through import not_played_in_words
from rhythmtrain.report.take.heard_rows import EXTRA_SHAPE, SHAPES, extras_by_place
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.troubles import troubles
from rhythmtrain.report.words import number
from rhythmtrain.score.passage import notes_of

RIGHT = "right"
NOT_REACHED = "not played"
FIGURE_SHAPE = "≠"
NO_SHAPE = ""
Said = tuple[str, str]


@dataclass(frozen=True, slots=True)
class Cell:
    """One bar of one student: a shape as in the pictures, and a word or two."""

    bar: int
    shape: str
    words: str


@dataclass(frozen=True, slots=True)
class OtherTake:
    """A recording that is not the one told of: its name, and in a sentence how it went."""

    name: str
    words: str


@dataclass(frozen=True, slots=True)
class StudentRow:
    """What is told of a student: the recording that went best, and the others.

    ``page`` is the name of the file with the student's page, "" where none was written; ``instead`` is
    what was clapped in place of the rhythm ("the beat"), if anything.
    """

    name: str
    recording: str
    pace: str
    known: bool
    complete: bool
    cells: tuple[Cell, ...]
    praise: str
    first: str
    others: tuple[OtherTake, ...] = ()
    note: str = ""
    page: str = ""
    instead: str = ""

    @property
    def right(self) -> int:
        """Return how many bars were right."""
        return sum(cell.words == RIGHT for cell in self.cells)

    @property
    def at_all(self) -> str:
        """Return in a few words how much of the passage was right."""
        if not self.known:
            return f"{self.instead}, not the rhythm" if self.instead else "another piece?"
        missing = sum(cell.words == NOT_REACHED for cell in self.cells)
        left = f", {number(missing)} not played" if missing else ""
        return f"{self.right} of {len(self.cells)} bars right{left}"


@dataclass(frozen=True, slots=True)
class ClassHeard:
    """What was heard of a class: a row a student; ``unheard`` are (recording, why).

    ``recordings`` is how many were heard.
    """

    title: str
    rows: tuple[StudentRow, ...]
    unheard: tuple[tuple[str, str], ...]
    recordings: int


def cells_of(heard: Heard) -> tuple[Cell, ...]:
    """Return a cell for every bar of the passage that has notes, in order."""
    bars = heard.passage.bars
    numbers = dict.fromkeys(bars[note.index].number for note in notes_of(bars))
    if heard.findings.looks_like is False:
        return tuple(Cell(bar, NO_SHAPE, "") for bar in numbers)
    reached = {note.bar for note in heard.findings.notes if note.verdict is not Verdict.NOT_CHECKED}
    return tuple(
        _cell(heard, bar) if bar in reached else Cell(bar, NO_SHAPE, NOT_REACHED) for bar in numbers
    )


def said_of(heard: Heard, said: Advice, cells: Sequence[Cell]) -> Advice:
    """Return what is said to a student: who left bars out is not sent on to another tempo."""
    missing = tuple(cell.bar for cell in cells if cell.words == NOT_REACHED)
    if not missing or said.first == TOO_LITTLE or troubles(heard):
        return said
    return replace(said, first=not_played_in_words(heard, missing), command="")


def columns_of(cells: tuple[Cell, ...]) -> tuple[str, ...]:
    """Return what stands over the columns: "1", "2", and "up" for the upbeat."""
    return tuple(str(cell.bar) if cell.bar else "up" for cell in cells)


def _cell(heard: Heard, bar: int) -> Cell:
    said = (words for say in _SAID for words in say(heard, bar))
    return Cell(bar, *next(said, (SHAPES[Verdict.IN_TIME], RIGHT)))


def _entry(heard: Heard, bar: int) -> Iterator[Said]:
    for entry in entries_amiss(heard.findings):
        if entry.bar == bar and entry.offset_s is None:
            yield SHAPES[Verdict.MISSED], "entry not heard"
        elif entry.bar == bar and entry.offset_s is not None:
            side = Verdict.EARLY if entry.offset_s < 0 else Verdict.LATE
            yield SHAPES[side], f"entry {entry.verdict}"


def _nothing(heard: Heard, bar: int) -> Iterator[Said]:
    for each in heard.findings.bars:
        if each.bar == bar and each.missed and not each.matched:
            yield SHAPES[Verdict.MISSED], "none heard"


def _figure(heard: Heard, bar: int) -> Iterator[Said]:
    if any(mistake.bar == bar for mistake in heard.findings.mistakes):
        yield FIGURE_SHAPE, "another rhythm"


def _missing(heard: Heard, bar: int) -> Iterator[Said]:
    missed = _flagged(heard, bar, Verdict.MISSED)
    if missed:
        yield SHAPES[Verdict.MISSED], f"{missed} not heard"


def _off(heard: Heard, bar: int) -> Iterator[Said]:
    sides = [verdict for verdict in LITTLE if _flagged(heard, bar, verdict)]
    if sides:
        shapes = " ".join(SHAPES[side] for side in sides)
        yield shapes, " and ".join(side.value for side in sides)


def _extra(heard: Heard, bar: int) -> Iterator[Said]:
    places = extras_by_place(heard.findings, heard.passage)
    extra = sum(many for (where, _), many in places.items() if where == bar)
    if extra:
        yield EXTRA_SHAPE, f"{extra} too many"


_SAID: tuple[Callable[[Heard, int], Iterator[Said]], ...] = (
    _entry, _nothing, _figure, _missing, _off, _extra,
)  # fmt: skip


def _flagged(heard: Heard, bar: int, verdict: Verdict) -> int:
    """Return at how many places of a bar something of that verdict is to be said."""
    return sum((flag.bar, flag.verdict) == (bar, verdict) for flag in heard.flags)
