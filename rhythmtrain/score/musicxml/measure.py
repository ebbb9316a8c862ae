"""One bar of one part as the file has it: its notes, how far they fill it, and its signs.

A file writes one voice after the other: ``backup`` goes back in the bar, ``forward`` on, and a note
with ``chord`` begins with the note before it.  Grace notes take no time and are not read.  Divisions,
metre and transposition stay in force from bar to bar, so they travel along as a ``Standing``.
"""

from dataclasses import dataclass, field
from fractions import Fraction
from typing import TYPE_CHECKING

from rhythmtrain.score.metre import Metre
from rhythmtrain.score.musicxml.durations import BarClock, exact_length, number, quarters
from rhythmtrain.score.musicxml.file_notes import FileNote, file_note, semitones
from rhythmtrain.score.musicxml.markup import Node
from rhythmtrain.score.musicxml.metres import read_metre
from rhythmtrain.score.musicxml.signs import Signs, read_barline, read_direction, read_sound
from rhythmtrain.score.musicxml.standing import Standing, read_style

if TYPE_CHECKING:
    from collections.abc import Callable

Span = tuple[Fraction, Fraction]


@dataclass(slots=True)
class Measure:
    """One bar of one part, gathered while it is read.

    ``metres`` are (quarters into the bar, metre) from 0 on.  ``filled`` is where its notes and rests
    end, whole-bar rests apart; ``sounds`` is whether it has a note.  ``like`` is how many bars back the
    bar stands that it repeats, or 0.  ``covered`` is where notes and rests lie; ``beats_again`` how long
    the stretch is that is repeated where nothing lies, or 0; ``rest_bars`` how many bars of rest the bar
    is said to stand for, or 0.
    """

    printed: str
    implicit: bool
    metres: list[tuple[Fraction, Metre | None]]
    notes: list[FileNote] = field(default_factory=list)
    filled: Fraction = Fraction(0)
    signs: Signs = field(default_factory=Signs)
    like: int = 0
    covered: list[Span] = field(default_factory=list)
    beats_again: Fraction = Fraction(0)
    rest_bars: int = 0

    @property
    def sounds(self) -> bool:
        """Return whether a note is played in it."""
        return any(not note.cue for note in self.notes)

    @property
    def nominal(self) -> Fraction | None:
        """Return how long its metre says it is, or None without a metre."""
        at, metre = self.metres[-1]
        return None if metre is None else at + metre.length


def read_measure(measure: Node, standing: Standing) -> Measure:
    """Return what one ``measure`` of a part holds, and leave in ``standing`` what goes on after it."""
    reader = _Reader(measure, standing)
    for child in measure.children:
        reader.read(child)
    return reader.done()


class _Reader:
    """Walks through one bar; what it has found is in ``measure``."""

    def __init__(self, node: Node, standing: Standing) -> None:
        self.standing = standing
        self.clock = BarClock()
        self.chord_at: tuple[Fraction, Fraction] | None = None
        self.measure = Measure(
            node.get("number") or "", node.get("implicit") == "yes", [(Fraction(0), standing.metre)]
        )
        self._reads: dict[str, Callable[[Node], None]] = {
            "note": self._note,
            "backup": self._backup,
            "forward": self._forward,
            "attributes": self._attributes,
            "direction": self._direction,
            "sound": self._sound,
            "barline": self._barline,
        }

    def read(self, child: Node) -> None:
        read = self._reads.get(child.tag)
        if read is not None:
            read(child)

    def done(self) -> Measure:
        measure, clock = self.measure, self.clock
        measure.like = measure.like or (0 if measure.notes else self.standing.like)
        measure.beats_again = self.standing.beats_again
        nominal = measure.nominal
        measure.filled = clock.exact_end if clock.exact_end == nominal else clock.filed_end
        return measure

    def _note(self, node: Node) -> None:
        if node.has("grace"):
            return
        chord = node.has("chord") and self.chord_at is not None
        at, length = self.chord_at if chord and self.chord_at else self._taken(node)
        if any(marks.has("fermata") for marks in node.all("notations")):
            self.measure.signs.pauses.append(at)
        if length > 0 and not node.has("rest"):
            if chord:
                length = self._length(node)[1] or length
            self.measure.notes.append(file_note(node, at, length, self.standing.transposed))

    def _taken(self, node: Node) -> tuple[Fraction, Fraction]:
        """Return where a note or rest begins and how long it is, and move on past it."""
        filed, exact = self._length(node)
        at = self.clock.exact
        self.clock.go(filed, exact)
        self.measure.covered.append((at, at + exact))
        rest = node.child("rest")
        if rest is None:
            self.chord_at = (at, exact)
        whole = not at and exact == self.measure.nominal
        if rest is None or not (rest.get("measure") == "yes" or whole):
            self.clock.fill()
        return at, exact

    def _length(self, node: Node) -> tuple[Fraction, Fraction]:
        """Return how long a note is in the file's time and exactly."""
        divisions = self.standing.divisions
        written = quarters(node.text_of("duration"), divisions)
        exact = exact_length(node, written, divisions)
        return exact if written is None else written, exact

    def _backup(self, node: Node) -> None:
        self.clock.jump(
            -(quarters(node.text_of("duration"), self.standing.divisions) or Fraction(0))
        )
        self.chord_at = None

    def _forward(self, node: Node) -> None:
        self.clock.jump(quarters(node.text_of("duration"), self.standing.divisions) or Fraction(0))
        self.chord_at = None
        self.clock.fill()

    def _attributes(self, node: Node) -> None:
        standing = self.standing
        divisions = number(node.text_of("divisions"))
        if divisions is not None and divisions > 0:
            standing.divisions = divisions
        for time in node.all("time"):
            if time.get("number") in (None, "1"):
                self._metre(read_metre(time))
        for change in node.all("transpose"):
            if change.get("number") in (None, "1"):
                standing.transposed = semitones(change)
        staves = node.text_of("staves")
        standing.staves = 2 if staves not in ("", "0", "1") else standing.staves
        for style in node.all("measure-style"):
            self.measure.rest_bars = read_style(style, standing) or self.measure.rest_bars

    def _metre(self, metre: Metre | None) -> None:
        self.standing.metre = metre
        at = self.clock.exact
        self.measure.metres = [each for each in self.measure.metres if each[0] < at]
        self.measure.metres.append((at, metre))

    def _direction(self, node: Node) -> None:
        read_direction(node, self._place(node), self.measure.signs)

    def _sound(self, node: Node) -> None:
        read_sound(node, self._place(node), self.measure.signs)

    def _place(self, node: Node) -> Fraction:
        """Return where a direction counts: where it stands, shifted by an offset that sounds."""
        offset = node.child("offset")
        shift = None
        if offset is not None and (offset.get("sound") == "yes" or node.tag == "sound"):
            shift = number(offset.text)
        return max(self.clock.exact + (shift or 0) / self.standing.divisions, Fraction(0))

    def _barline(self, node: Node) -> None:
        read_barline(node, self.clock.exact, self.measure.signs)
