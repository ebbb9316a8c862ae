"""The papers that a sheet can be printed on; upright, lengths in tenths of a millimetre (ISO 216, ANSI Y14.1).

Systems are as wide on all of them, so that a passage looks the same everywhere; the margins differ.
"""

from dataclasses import dataclass

SYSTEM_WIDTH = 1850
PER_INCH = 254


@dataclass(frozen=True, slots=True)
class Paper:
    """A sheet of paper: its name in CSS, its width and its height."""

    css: str
    width: int
    height: int

    @property
    def margin(self) -> int:
        """Return how far from the left edge the systems begin."""
        return (self.width - SYSTEM_WIDTH) // 2

    def pixels(self, dots_an_inch: int) -> int:
        """Return how many pixels wide a picture of it is."""
        return round(self.width * dots_an_inch / PER_INCH)


A4 = Paper("A4", 2100, 2970)
PAPERS = {"a4": A4, "letter": Paper("letter", 2159, 2794)}
