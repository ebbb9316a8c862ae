"""What is doubtful in a tune, with the line and the bar in which it stands."""

from dataclasses import dataclass, field

from rhythmtrain.errors import FileError
from rhythmtrain.score.musicxml.measure import Measure

SHOWN = 20
MOST_TOLD = 4
MOST_KEPT = 1_000


@dataclass(slots=True)
class Doubts:
    """Gathered while a tune is read: ``file`` is its name, ``line`` the line that is being read."""

    file: str
    line: int = 0
    count: int = 0
    _found: list[tuple[int, Measure | None, str]] = field(default_factory=list)

    @property
    def place(self) -> str:
        """Return the file and the line that is being read: "mill.abc, line 7"."""
        return f"{self.file}, line {self.line}" if self.line else self.file

    def refused(self, words: str) -> FileError:
        """Return the error that what is being read cannot be read, because of ``words``."""
        return FileError(f"{self.place}: {words}")

    def add(self, words: str, bar: Measure | None = None, line: int | None = None) -> None:
        """Keep that ``words`` are to be said of ``bar``, in ``line`` or the one that is being read."""
        self.count += 1
        if len(self._found) < MOST_KEPT:
            self._found.append((self.line if line is None else line, bar, words))

    def once(self, words: str, bar: Measure | None = None) -> None:
        """Keep ``words`` unless they have been said already."""
        if all(words != said for _, _, said in self._found):
            self.add(words, bar)

    def in_words(self) -> list[str]:
        """Return a sentence for each of the first few, in the order of the lines, and one for the others."""
        told = sorted(self._found, key=lambda doubt: doubt[0])[:MOST_TOLD]
        said = [f"{self._where(line, bar)}: {words}" for line, bar, words in told]
        more = self.count - len(told)
        if more:
            places = "place is" if more == 1 else "places are"
            said.append(f"{self.file}: {more} more {places} as doubtful")
        return said

    def _where(self, line: int, bar: Measure | None) -> str:
        number = "" if bar is None or not bar.printed.isdigit() else f", bar {bar.printed}"
        return f"{self.file}, line {line}{number}" if line else self.file
