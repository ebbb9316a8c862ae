"""How long notes last: lengths, broken rhythm, tuplets (ABC 2.1, sections 4.3, 4.4 and 4.13).

A note lasts its length times the unit.  ``a>b`` lengthens one note and shortens the next, in the same bar;
``(3abc`` puts three in the time of two.
"""

from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.score.abc.doubts import Doubts
from rhythmtrain.score.abc.fields import length_of
from rhythmtrain.score.metre import COMPOUND_LOWER, COMPOUND_UPPERS, Metre
from rhythmtrain.score.musicxml.measure import Measure

# In the time of how many notes a tuplet stands (4.13); of 5, 7 and 9 the metre decides.
IN_THE_TIME_OF = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
FEWEST, MOST_IN_TUPLET, MOST_BROKEN = 2, 9, 3


@dataclass(slots=True)
class _Tuplet:
    """A tuplet that has begun: its sign, by what it scales, its notes in all and those still to come."""

    text: str = ""
    scale: Fraction = Fraction(1)
    notes: int = 0
    left: int = 0


@dataclass(slots=True)
class Rhythm:
    """What was read before a note and counts for its length."""

    doubts: Doubts
    _tuplet: _Tuplet
    _broken: str = ""
    # How long the note or rest before lasts in this bar, or None where there is none.
    _before: Fraction | None = None

    @property
    def waits(self) -> bool:
        """Return whether a note must follow in the same bar."""
        return bool(self._broken or self._tuplet.left)

    def begin_tuplet(self, text: str, metre: Metre | None, here: Measure) -> None:
        """Take in "(3" or "(p:q:r"."""
        self._end_tuplet(here)
        notes, time, left = (*(int(part or 0) for part in text[1:].split(":")), 0, 0)[:3]
        if not FEWEST <= notes <= MOST_IN_TUPLET:
            raise self.doubts.refused(
                f"{text!r} is no tuplet: ABC has those of {FEWEST} to {MOST_IN_TUPLET} notes"
            )
        compound = metre is not None and (
            sum(metre.groups) in COMPOUND_UPPERS and metre.unit == COMPOUND_LOWER
        )
        time = time or IN_THE_TIME_OF.get(notes, 3 if compound else 2)
        self._tuplet = _Tuplet(text, Fraction(time, notes), left or notes, left or notes)

    def begin_broken(self, text: str, here: Measure) -> None:
        """Take in ">" or "<"."""
        if len(text) > MOST_BROKEN:
            raise self.doubts.refused(
                f"{text[:9]!r} is too long: at most {text[0] * MOST_BROKEN!r}"
            )
        if self._before is None:
            self.doubts.add(f"{text!r} has no note before it in its bar; it is passed over", here)
        elif self._broken:
            self.doubts.add(
                f"{text!r} comes after {self._broken!r} without a note; passed over", here
            )
        else:
            self._broken = text

    def next_length(self, text: str, unit: Fraction, here: Measure) -> tuple[Fraction, Fraction]:
        """Return the length of the next note, and by how much the one before is longer, in quarters."""
        length = length_of(text.strip(), name=self.doubts.place) * unit
        if self._tuplet.left:
            self._tuplet.left -= 1
            length *= self._tuplet.scale
        longer = Fraction(0)
        if self._broken and self._before is not None:
            if self._before != length:
                self.doubts.add(
                    f"{self._broken!r} stands between notes of unequal length, which ABC leaves open; "
                    f"write their lengths out",
                    here,
                )
            short = Fraction(1, 2 ** len(self._broken))
            scales = (2 - short, short) if self._broken[0] == ">" else (short, 2 - short)
            longer, length = self._before * (scales[0] - 1), length * scales[1]
        self._before, self._broken = length, ""
        return length, longer

    def end_bar(self, here: Measure) -> None:
        """Say what the bar line cuts short."""
        if self._broken:
            self.doubts.add(
                f"{self._broken!r} has no note after it before the bar line; it is passed over",
                here,
            )
        self._end_tuplet(here)
        self._broken, self._before = "", None

    def _end_tuplet(self, here: Measure) -> None:
        cut = self._tuplet
        if cut.left:
            found = cut.notes - cut.left
            self.doubts.add(
                f"the tuplet {cut.text!r} has {found or 'none'} of its {cut.notes} notes before it is "
                f"cut short",
                here,
            )
        self._tuplet = _Tuplet()


def no_rhythm(doubts: Doubts) -> Rhythm:
    """Return the rhythm at the beginning of a voice, where nothing has been read."""
    return Rhythm(doubts, _Tuplet())
