"""A file that was made at the page to be taken away."""

from dataclasses import dataclass
from pathlib import Path


@dataclass(frozen=True, slots=True)
class Fetched:
    """A file that was made to be taken away: where it lies, what it is called, what kind it is."""

    path: Path
    called: str
    kind: str

    def gone(self) -> None:
        """Remove it: nobody wants it any more."""
        self.path.unlink(missing_ok=True)
