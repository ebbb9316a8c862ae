"""One voice of an ABC tune, written into bars as its signs are read.

Notes last their length times the unit; a broken rhythm (``a>b``) lengthens one and shortens the next,
``(3abc`` puts three in the time of two (ABC 2.1, sections 4.4 and 4.13).  Bars become those of a score, so
that all that is known of scores (upbeats, repeats, ties, endings) goes for them too.
"""

import re
from dataclasses import dataclass, field
from dataclasses import replace as changed
from fractions import Fraction

from rhythmtrain.errors import FileError
from rhythmtrain.score.abc.bar_lines import bar_line
from rhythmtrain.score.abc.fields import EIGHTH, key_of, length_of, metre_of, speed_of, unit_of
from rhythmtrain.score.abc.pitch import sounding
from rhythmtrain.score.abc.tokens import PITCH, Token
from rhythmtrain.score.metre import COMPOUND_LOWER, COMPOUND_UPPERS, Metre
from rhythmtrain.score.musicxml.file_notes import FileNote
from rhythmtrain.score.musicxml.measure import Measure
from rhythmtrain.score.passage import MOST_BARS

# In the time of how many notes a tuplet stands (4.13); of 5, 7 and 9 the metre decides.
IN_THE_TIME_OF = {2: 3, 3: 2, 4: 3, 6: 2, 8: 3}
ACCENTS = frozenset({"!accent!", "!>!", "!emphasis!", "L"})
FERMATAS = frozenset({"!fermata!", "H"})
_HEAD = re.compile(rf"({PITCH})([\d/]*)")


@dataclass(slots=True)
class _Marks:
    """What was read before a note and counts for it."""

    broken: Fraction = Fraction(1)
    tuplet: Fraction = Fraction(1)
    left: int = 0
    accent: bool = False
    fermata: bool = False


@dataclass(slots=True)
class Voice:
    """A voice as far as it is read; ``said`` is what could not be taken over."""

    file: str
    metre: Metre | None
    unit: Fraction = EIGHTH
    key: dict[str, int] = field(default_factory=dict)
    label: str = ""
    bars: list[Measure] = field(default_factory=list)
    said: list[str] = field(default_factory=list)
    _bar: Measure | None = None
    _at: Fraction = Fraction(0)
    _marks: _Marks = field(default_factory=_Marks)
    _altered: dict[str, int] = field(default_factory=dict)
    _ties: set[str] = field(default_factory=set)
    _last: tuple[int, Fraction] = (0, Fraction(0))
    _overlaid: bool = False

    def read(self, token: Token) -> None:
        """Take in one sign."""
        if self._overlaid and token.kind != "bar":
            return
        getattr(self, f"_read_{token.kind}", self._pass)(token.text)

    def done(self) -> None:
        """Close the last bar."""
        if self._bar is not None and (self._at or self._bar.notes):
            self._close()
        self._bar = None

    def field(self, letter: str, text: str) -> None:
        """Take in what a field says from here on."""
        if letter == "M":
            self.metre = metre_of(text, name=self.file)
            here = self._here()
            here.metres = [each for each in here.metres if each[0] < self._at]
            here.metres.append((self._at, self.metre))
        elif letter == "L":
            self.unit = unit_of(text, name=self.file)
        elif letter == "K":
            self.key = key_of(text)
        elif letter == "Q":
            speed = speed_of(text, self.unit)
            if speed is not None:
                self._here().signs.tempi.append((self._at, speed))
        elif letter == "P" and text.strip():
            self._here().signs.letters.append(" ".join(text.split())[:60])

    def _pass(self, text: str) -> None:
        """Pass over what says nothing about rhythm."""

    def _read_field(self, text: str) -> None:
        self.field(text[1], text[3:-1])

    def _read_short(self, text: str) -> None:
        self._read_decoration(text)

    def _read_decoration(self, text: str) -> None:
        self._marks.accent = self._marks.accent or text in ACCENTS
        self._marks.fermata = self._marks.fermata or text in FERMATAS

    def _read_overlay(self, _text: str) -> None:
        self._overlaid = True
        note = "a second voice written with & is left out"
        self.said += [] if note in self.said else [note]

    def _read_tuplet(self, text: str) -> None:
        parts = [int(part) if part else 0 for part in text[1:].split(":")]
        notes, time, left = (*parts, 0, 0)[:3]
        if not notes:
            return
        compound = self.metre is not None and (
            sum(self.metre.groups) in COMPOUND_UPPERS and self.metre.unit == COMPOUND_LOWER
        )
        time = time or IN_THE_TIME_OF.get(notes, 3 if compound else 2)
        self._marks.tuplet, self._marks.left = Fraction(time, notes), left or notes

    def _read_broken(self, text: str) -> None:
        short = Fraction(1, 2 ** len(text))
        before, after = (2 - short, short) if text[0] == ">" else (short, 2 - short)
        first, length = self._last
        here = self._here()
        shift = length * (before - 1)
        here.notes[first:] = [changed(note, length=length * before) for note in here.notes[first:]]
        self._move(shift)
        self._marks.broken = after

    def _read_rest(self, text: str) -> None:
        self._last = (len(self._here().notes), self._length(text[1:]))
        self._move(self._last[1])
        self._ties.clear()

    def _read_bars(self, text: str) -> None:
        for _ in range(min(int(text[1:] or 1), MOST_BARS)):
            self._here()
            self._close()

    def _read_note(self, text: str) -> None:
        head = _HEAD.match(text)
        if head is not None:
            self._strike([head[1]], self._length(head[2]), tied=text.endswith("-"))

    def _read_chord(self, text: str) -> None:
        inside, _, after = text[1:].partition("]")
        heads = _HEAD.findall(inside)
        first = length_of(heads[0][1], name=self.file)
        length = first * self._length(after.rstrip("-"))
        self._strike([head for head, _ in heads], length, tied=text.endswith("-") or "-" in inside)

    def _strike(self, heads: list[str], length: Fraction, *, tied: bool) -> None:
        here = self._here()
        self._last = (len(here.notes), length)
        keys = set()
        for head in heads:
            pitch, key = sounding(head, self.key, self._altered)
            keys.add(key)
            from_before = key in self._ties
            here.notes.append(
                FileNote(self._at, length, pitch, key, from_before, tied, accent=self._marks.accent)
            )
        if self._marks.fermata:
            here.signs.pauses.append(self._at)
        self._ties = keys if tied else set()
        self._marks.accent = self._marks.fermata = False
        self._move(length)

    def _length(self, text: str) -> Fraction:
        """Return how long the next note is in quarters, and use up what was said for it."""
        marks = self._marks
        length = length_of(text.strip(), name=self.file) * self.unit * marks.broken
        marks.broken = Fraction(1)
        if marks.left:
            marks.left -= 1
            return length * marks.tuplet
        return length

    def _here(self) -> Measure:
        if self._bar is None:
            self._bar = Measure("", implicit=False, metres=[(Fraction(0), self.metre)])
        return self._bar

    def _move(self, by: Fraction) -> None:
        here = self._here()
        self._at = max(self._at + by, Fraction(0))
        here.filled = self._at

    def _close(self) -> None:
        if len(self.bars) >= MOST_BARS:
            raise FileError(f"{self.file} has more than {MOST_BARS} bars: is it one tune?")
        self.bars.append(self._here())
        self._bar, self._at = None, Fraction(0)
        self._altered, self._overlaid = {}, False

    def _read_bar(self, text: str) -> None:
        line = bar_line(text)
        if self._at and line.drawn:
            self._close()
        if self.bars and line.closes:
            self.bars[-1].signs.closes = True
            self.bars[-1].signs.times = line.times
        if self.bars and line.ends_endings:
            self.bars[-1].signs.ending_stops = True
        if line.opens or line.double:
            self._here().signs.opens = True
        if line.endings:
            self._here().signs.endings = line.endings
