"""The bars of a voice as they are gathered, with the line on which each begins."""

from dataclasses import dataclass, field
from fractions import Fraction

from rhythmtrain.score.abc.doubts import Doubts
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.musicxml.measure import Measure
from rhythmtrain.score.passage import MOST_BARS


@dataclass(slots=True)
class Gathered:
    """Bars that are whole, and the one that is being filled up to ``at`` quarters.

    ``lines`` are where the bars begin; ``edges`` the places of those that stand beside more than a plain bar
    line: repeats, endings, double bars, a new metre or part, the beginning and the end.
    """

    doubts: Doubts
    metre: Metre | None
    bars: list[Measure] = field(default_factory=list)
    lines: list[int] = field(default_factory=list)
    edges: set[int] = field(default_factory=lambda: {0})
    at: Fraction = Fraction(0)
    _bar: Measure | None = None
    _line: int = 0

    @property
    def begun(self) -> Measure | None:
        """Return the bar that is being filled, or None between two bars."""
        return self._bar

    @property
    def full(self) -> bool:
        """Return whether the bar that is being filled is as long as its metre says."""
        return self._bar is not None and bool(self.at) and self.at == self._bar.nominal

    def here(self) -> Measure:
        """Return the bar that is being filled, which may begin here."""
        if self._bar is None:
            self._bar = Measure("", implicit=False, metres=[(Fraction(0), self.metre)])
            self._line = self.doubts.line
        return self._bar

    def go_on(self, at: Fraction) -> None:
        """Say that the bar is filled up to ``at``."""
        self.at = self.here().filled = at

    def change(self, metre: Metre | None) -> None:
        """Begin another metre."""
        self.metre = metre
        here = self.here()
        here.metres = [each for each in here.metres if each[0] < self.at]
        here.metres.append((self.at, metre))

    def edge(self) -> None:
        """Say that more than a plain bar line stands here, if here is between two bars."""
        if not self.at:
            self.edges |= {len(self.bars) - 1, len(self.bars)}

    def close(self) -> None:
        """End the bar.

        Raises:
            FileError: there are too many.
        """
        if len(self.bars) >= MOST_BARS:
            raise self.doubts.refused(f"there are more than {MOST_BARS} bars: is it one tune?")
        self.bars.append(self.here())
        self.lines.append(self._line)
        self._bar, self.at = None, Fraction(0)

    def done(self) -> None:
        """End the last bar; what was said after it belongs to it."""
        here = self._bar
        if here is not None and (self.at or here.notes):
            self.close()
        elif here is not None and self.bars:
            self.bars[-1].signs.worded_jumps |= here.signs.worded_jumps
        self._bar = None
        self.edge()
