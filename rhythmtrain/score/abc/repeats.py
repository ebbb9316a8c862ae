"""Repeats and endings that want their other half: ``|:`` without ``:|``, a second time without a first."""

from dataclasses import dataclass, field

from rhythmtrain.score.abc.bar_lines import BarLine
from rhythmtrain.score.abc.doubts import Doubts
from rhythmtrain.score.musicxml.measure import Measure


@dataclass(slots=True)
class Repeats:
    """What has been opened so far: where a repeat was, and the endings since."""

    doubts: Doubts
    _open: tuple[int, Measure] | None = None
    _endings: set[int] = field(default_factory=set)

    def read(self, line: BarLine, here: Measure | None) -> None:
        """Take in a bar line; ``here`` is the bar after it, where anything begins there."""
        if line.closes:
            self._open = None
        if line.opens and here is not None:
            self.done()
            self._open = (self.doubts.line, here)
        if line.opens:
            self._endings.clear()
        if line.endings:
            wanted = min(line.endings) - 1
            if wanted and wanted not in self._endings:
                self.doubts.add(
                    f"ending {min(line.endings)} has no ending {wanted} before it; write |1 and :|2",
                    here,
                )
            self._endings |= set(line.endings)

    def done(self) -> None:
        """Say of a repeat that is open that it is never closed."""
        if self._open is not None:
            at, bar = self._open
            self.doubts.add("|: opens a repeat that no :| closes; it is played once", bar, at)
        self._open = None
