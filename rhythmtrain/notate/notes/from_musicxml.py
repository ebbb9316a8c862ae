"""The accompanist's part of a MusicXML score, its repeats and jumps written out as they are played.

Whose part it is: the one that was named, else all keyboards, else all parts that sound.
"""

from collections.abc import Iterable, Iterator
from fractions import Fraction

from rhythmtrain.errors import FileError
from rhythmtrain.notate.notes.written_part import Runs, WrittenBar, WrittenNote, WrittenPart
from rhythmtrain.remedies import remedy
from rhythmtrain.score.musicxml.document import Part, Score
from rhythmtrain.score.musicxml.lines import lines_of
from rhythmtrain.score.musicxml.order import bar_signs, comes_from, order_played
from rhythmtrain.score.musicxml.parts import choose_part
from rhythmtrain.score.musicxml.tempi import tempi_of
from rhythmtrain.score.musicxml.ties import joined_notes


def part_of_score(score: Score, wish: str | None = None) -> tuple[WrittenPart, tuple[str, ...]]:
    """Return the part that ``wish`` names, as played, and sentences on what is to be doubted.

    Raises:
        FileError: no notes, or too many bars.
        RequestError: there is no such part.
    """
    parts, doubts = _chosen(score, wish)
    signs = bar_signs([part.measures for part in score.parts])
    before = comes_from(signs)
    notes = [
        WrittenNote(note.at, note.end - note.at, note.pitch, note.staff)
        for part in parts
        for note in joined_notes(part.measures, score.bars, comes_from=before)
        if note.pitch is not None and not note.cue
    ]
    written = WrittenPart(
        tuple(sorted(notes, key=lambda note: note.at)), tuple(_bars(score, parts[0]))
    )
    order = order_played(signs, name=score.name)
    return written.played(tuple(_runs(order))), doubts


def _bars(score: Score, part: Part) -> Iterator[WrittenBar]:
    """Yield the bars of the file; one told in pieces has the metre of its first."""
    told = -1
    start = Fraction(0)
    for line in lines_of(score, part, tempi_of(score)):
        if line.bar == told:
            continue
        told = line.bar
        length = score.bars[line.bar].length
        yield WrittenBar(line.number, start, line.metre, length, line.begins)
        start += length


def _runs(order: Iterable[int]) -> Runs:
    """Return the runs (first, last) of an order of bars."""
    runs: list[tuple[int, int]] = []
    for bar in order:
        if runs and bar == runs[-1][1] + 1:
            runs[-1] = (runs[-1][0], bar)
        else:
            runs.append((bar, bar))
    return tuple(runs)


def _chosen(score: Score, wish: str | None) -> tuple[list[Part], tuple[str, ...]]:
    """Return the parts meant, and what is said of the choice."""
    if wish is not None:
        return [choose_part(score, wish)[0]], ()
    sounding = [part for part in score.parts if part.sounds]
    if not sounding:
        raise FileError(f"{score.name} holds no notes")
    keyboards = [part for part in sounding if part.keyboard] or sounding
    left = [part.name for part in sounding if part not in keyboards]
    if not left:
        return keyboards, ()
    names = ", ".join(left[:4])
    return keyboards, (
        f"only keyboards are looked for in the recording, not {names}{remedy('by', 'part')}",
    )
