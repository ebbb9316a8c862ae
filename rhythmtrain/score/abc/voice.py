"""One voice of an ABC tune, written into bars as its signs are read.

Bars become those of a score, so that all that is known of scores (upbeats, repeats, ties, endings) goes for
them too.  What is no sign of ABC is passed over and told.
"""

import re
from collections.abc import Mapping
from dataclasses import dataclass

from rhythmtrain.score.abc.bar_lines import bar_line
from rhythmtrain.score.abc.decorations import ACCENTS, JUMPS, NAMES, PAUSES
from rhythmtrain.score.abc.doubts import SHOWN, Doubts
from rhythmtrain.score.abc.fields import key_told, length_of, metre_of, speed_told, unit_of
from rhythmtrain.score.abc.gathered import Gathered
from rhythmtrain.score.abc.notes import Notes
from rhythmtrain.score.abc.repeats import Repeats
from rhythmtrain.score.abc.rhythm import Rhythm
from rhythmtrain.score.abc.tokens import PITCH, Token
from rhythmtrain.score.musicxml.signs import LONGEST_WORDS, jump_in_words
from rhythmtrain.score.passage import MOST_BARS

_HEAD = re.compile(rf"({PITCH})([\d/]*)")
_OVER = re.compile(r'"[^"]*"|![^!]*!')
# What may stand in a chord beside its notes and what is over them.
_IN_CHORD = re.compile(rf"{PITCH}[\d/]*|[.()\s-]")
CLOSED_BY = {'"': '"', "!": "!", "{": "}", "[": "]"}
LONGEST_COUNT = 5


@dataclass(slots=True)
class Voice:
    """A voice as far as it is read; ``letters`` are what letters over notes stand for."""

    doubts: Doubts
    gathered: Gathered
    rhythm: Rhythm
    notes: Notes
    repeats: Repeats
    letters: Mapping[str, str]
    label: str
    _overlaid: bool = False

    def read(self, token: Token) -> None:
        """Take in one sign."""
        if not self._overlaid or token.kind in ("bar", "open"):
            getattr(self, f"_read_{token.kind}")(token.text)

    def end_line(self) -> None:
        """End a bar that is whole where the line ends: many leave the bar line out there."""
        if self.gathered.full and not self.rhythm.waits:
            self.notes.end_bar()
            self._overlaid = False

    def done(self) -> None:
        """Close the last bar."""
        self.notes.end_beam()
        self.rhythm.end_bar(self.gathered.here())
        self.gathered.done()
        self.repeats.done()

    def field(self, letter: str, text: str) -> None:
        """Take in what a field says from here on."""
        here = self.gathered.here() if letter in "MQP" else None
        if letter == "M":
            self.gathered.change(metre_of(text, name=self.doubts.place))
        elif letter == "L":
            self.notes.unit = unit_of(text, name=self.doubts.place)
        elif letter == "K":
            self.notes.key = key_told(text, self.doubts)
        elif letter == "Q" and here is not None:
            speed = speed_told(text, self.notes.unit, self.doubts)
            here.signs.tempi += [] if speed is None else [(self.gathered.at, speed)]
        elif letter == "P" and here is not None and text.strip():
            here.signs.letters.append(" ".join(text.split())[:LONGEST_WORDS])
        if letter in "MP":
            self.gathered.edge()

    def _read_field(self, text: str) -> None:
        self.field(text[1], text[3:-1])

    def _read_words(self, text: str) -> None:
        jump = jump_in_words(text.strip('"').lstrip("^_<>@"))
        if jump is not None:
            self.gathered.here().signs.worded_jumps.add(jump)

    def _read_letter(self, text: str) -> None:
        if text in self.letters:
            self._sign(self.letters[text])
        else:
            self._unknown(text, "no note (A to G, a to g) and no other sign of ABC")

    def _read_decoration(self, text: str) -> None:
        self._sign(text[1:-1])
        if text[1:-1].lower() not in NAMES:
            self._unknown(text, "no ornament of ABC")

    def _sign(self, name: str) -> None:
        self.notes.accent = self.notes.accent or name in ACCENTS
        self.notes.pause = self.notes.pause or name in PAUSES
        if name.lower() in JUMPS:
            self.gathered.here().signs.worded_jumps.add(JUMPS[name.lower()])

    def _read_stray(self, text: str) -> None:
        self._unknown(text, "no sign of ABC where it stands")

    def _unknown(self, text: str, words: str) -> None:
        self.doubts.add(f"{text[:SHOWN]!r} is {words}; it is passed over", self.gathered.here())

    def _read_open(self, text: str) -> None:
        raise self.doubts.refused(
            f"{text!r} is never closed on its line, so it cannot be told what is music: write the "
            f"{CLOSED_BY[text]!r} that is missing, or take it out"
        )

    def _read_line_end(self, text: str) -> None:
        words = f"{text!r} is read as the end of a line, as before ABC 2.0"
        self.doubts.once(words, self.gathered.here())

    def _read_blank(self, _text: str) -> None:
        self.notes.end_beam()

    def _read_slur(self, text: str) -> None:
        """Pass over a slur: it says nothing about rhythm."""

    def _read_overlay(self, _text: str) -> None:
        self._overlaid = True
        self.doubts.once("a second voice written with & is left out", self.gathered.here())

    def _read_tuplet(self, text: str) -> None:
        self.rhythm.begin_tuplet(text, self.gathered.metre, self.gathered.here())

    def _read_broken(self, text: str) -> None:
        self.rhythm.begin_broken(text, self.gathered.here())

    def _read_bars(self, text: str) -> None:
        count = int(text[1:] or 1) if len(text) <= LONGEST_COUNT else 0
        if not count:
            raise self.doubts.refused(
                f"{text[:SHOWN]!r} is no number of bars' rest: write it like Z4"
            )
        if self.gathered.at:
            raise self.doubts.refused(
                f"{text!r} stands beside notes: {text[0]} is for whole bars of rest, "
                f"{text[0].lower()} for shorter ones"
            )
        for _ in range(min(count, MOST_BARS + 1)):
            self.gathered.close()

    def _read_rest(self, text: str) -> None:
        self.notes.rest(text[1:])

    def _read_note(self, text: str) -> None:
        head = _HEAD.match(text)
        if head is not None:
            self.notes.strike([head[1]], head[2], tied=text.endswith("-"))

    def _read_chord(self, text: str) -> None:
        inside, _, after = text[1:].partition("]")
        inside = _OVER.sub("", inside)
        heads = _HEAD.findall(inside)
        left = "".join(sign for sign in _IN_CHORD.sub("", inside) if sign not in self.letters)
        if left or not heads:
            self._unknown(left or text, "no sign of a chord" if left else "no chord")
        if heads:
            # A chord lasts as long as its first note (4.17), times what stands after it.
            place = self.doubts.place
            own = length_of(heads[0][1], name=place) * length_of(after.rstrip(".- "), name=place)
            length = f"{own.numerator}/{own.denominator}"
            tied = text.endswith("-") or "-" in inside
            self.notes.strike([head for head, _ in heads], length, tied=tied)

    def _read_old_chord(self, text: str) -> None:
        inside, _, after = text[1:].partition("+")
        self._read_chord(f"[{inside}]{after}")

    def _read_apart(self, text: str) -> None:
        """Read a tie that stands beyond a bar line, or at the next line's beginning."""
        if self.notes.tie_last():
            self.doubts.once("a tie stands apart from its note; write A-|A", self.gathered.here())
        else:
            self._read_stray(text)

    def _read_bar(self, text: str) -> None:
        line = bar_line(text)
        gathered = self.gathered
        if line.drawn:
            self.notes.end_bar()
        self._overlaid = self._overlaid and not line.drawn
        if gathered.bars and line.closes:
            gathered.bars[-1].signs.closes = True
            gathered.bars[-1].signs.times = line.times
        if gathered.bars and line.ends_endings:
            gathered.bars[-1].signs.ending_stops = True
        if line.opens or line.double:
            gathered.here().signs.opens = True
        if line.endings:
            gathered.here().signs.endings = line.endings
        if not line.plain:
            gathered.edge()
        self.repeats.read(line, gathered.begun)
