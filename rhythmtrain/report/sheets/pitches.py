"""Pitches on five lines: a clef for the passage, and the accidentals a bar needs.

A passage has no key signature, so every altered note has its sign, once a bar.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from statistics import median

from rhythmtrain.score.pitches import Spelling

LOW = 57  # below A3, on the whole, the bass clef is read more easily
SIGNS = {-1: "f", 0: "n", 1: "s"}


def clef(pitches: Iterable[int]) -> str:
    """Return the clef in which MIDI ``pitches`` are read most easily: "G" or "F"."""
    known = list(pitches)
    return "F" if known and median(known) < LOW else "G"


@dataclass(slots=True)
class Accidentals:
    """The accidentals of one bar so far, by letter and octave."""

    spelling: Spelling = field(default_factory=Spelling)
    known: dict[tuple[str, int], str] = field(default_factory=dict)

    def place(self, pitch: int) -> str:
        """Return the MEI attributes of a note that sounds at a MIDI pitch."""
        letter, octave, alter = self.spelling.spelt(pitch)
        wanted = SIGNS[alter]
        before = self.known.get((letter, octave), "n")
        self.known[letter, octave] = wanted
        shown = f' accid="{wanted}"' if wanted != before else ""
        silent = f' accid.ges="{wanted}"' if not shown and alter else ""
        return f'pname="{letter.lower()}" oct="{octave}"{shown}{silent}'
