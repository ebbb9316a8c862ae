"""Bars as cells of text: three rows of one width, broken where a line ends, several on a line."""

from collections.abc import Iterator
from dataclasses import dataclass
from itertools import accumulate

from rhythmtrain.report.passage.bar_columns import GAP, Column
from rhythmtrain.score.passage import Bar

INDENT = "  "
LEAD = 3  # the bar line, a repeat's dots, and a blank or bracket


@dataclass(frozen=True, slots=True)
class Cell:
    """A bar, or as much of it as one line holds: three rows of equal length."""

    header: str
    notes: str
    counts: str
    end: str

    @property
    def width(self) -> int:
        """Return how many columns it takes."""
        return len(self.notes)

    def wider(self, width: int) -> "Cell":
        """Return the cell filled up with blanks; a repeat's dots stay at its end."""
        dots = ":" if self.notes.endswith(":") else ""
        notes, counts = (
            row.removesuffix(dots).ljust(width - len(dots)) + dots
            for row in (self.notes, self.counts)
        )
        return Cell(self.header.ljust(width), notes, counts, self.end)


def cells_of(bar: Bar, header: str, columns: tuple[Column, ...], room: int) -> Iterator[Cell]:
    """Yield the bar as one cell, or as several where it is wider than a line."""
    rows = list(_broken(columns, room - LEAD - 1))
    for number, row in enumerate(rows):
        lead = "|" if number == 0 else " "
        lead = f"{lead}:" if bar.opens and number == 0 else lead
        notes = counts = lead.ljust(LEAD + (":" in lead and bool(row[0].opening)))
        for column in row:
            if column.label:
                notes = notes.ljust(len(counts)) + column.label
            counts = counts[: len(counts) - len(column.opening)] + column.opening
            counts += column.count.ljust(column.width)
        dots = ":" if bar.times and number == len(rows) - 1 else ""
        title = header if number == 0 else ""
        filled = max(len(counts) - 1, len(notes) + 1, len(title) + GAP)
        yield Cell(
            title.ljust(filled + len(dots)),
            notes.ljust(filled) + dots,
            counts.rstrip().ljust(filled) + dots,
            "|" if number == len(rows) - 1 else "",
        )


def _broken(columns: tuple[Column, ...], room: int) -> Iterator[tuple[Column, ...]]:
    """Yield the columns in rows no wider than ``room``, about equally long, broken on beats."""
    left = columns
    while left:
        total = sum(column.width for column in left)
        rows = -(-total // room)
        if rows == 1:
            yield left
            return
        ends = list(accumulate(column.width for column in left))
        turns = [turn for turn in range(1, len(left)) if ends[turn - 1] <= room]
        best = max(left[turn].rank for turn in turns)
        turn = min(
            (turn for turn in turns if left[turn].rank == best),
            key=lambda turn: abs(ends[turn - 1] - total / rows),
        )
        yield left[:turn]
        left = left[turn:]


def packed(cells: list[Cell], room: int) -> Iterator[str]:
    """Yield systems; bars stand under each other where that takes no more lines."""
    if not cells:
        return
    widest = max(cell.width for cell in cells)
    even = [cell.wider(widest) for cell in cells]
    natural, aligned = _lines(cells, room), _lines(even, room)
    for line in aligned if len(aligned) <= len(natural) else natural:
        header = "".join(cell.header for cell in line)
        notes = "".join(cell.notes for cell in line)
        counts = "".join(cell.counts for cell in line)
        rows = (header, notes + line[-1].end, counts + line[-1].end)
        yield "\n".join((INDENT + row).rstrip() for row in rows if row.strip())


def _lines(cells: list[Cell], room: int) -> list[list[Cell]]:
    lines: list[list[Cell]] = [[]]
    for cell in cells:
        fits = sum(each.width for each in lines[-1]) + cell.width <= room
        if lines[-1] and not fits:
            lines.append([])
        lines[-1].append(cell)
    return lines
