"""Pitches on five lines: a clef for the passage, and the accidentals a bar needs.

A passage has no key signature, so every altered note has its sign, once a bar, with sharps.
"""

from collections.abc import Iterable
from dataclasses import dataclass, field
from statistics import median

LOW = 57  # below A3, on the whole, the bass clef is read more easily
STEPS = ("c", "c", "d", "d", "e", "f", "f", "g", "g", "a", "a", "b")
SHARPS = (1, 3, 6, 8, 10)
SEMITONES = 12


def clef(pitches: Iterable[int]) -> str:
    """Return the clef in which MIDI ``pitches`` are read most easily: "G" or "F"."""
    known = list(pitches)
    return "F" if known and median(known) < LOW else "G"


@dataclass(slots=True)
class Accidentals:
    """The accidentals of one bar so far, by letter and octave."""

    known: dict[tuple[str, int], str] = field(default_factory=dict)

    def place(self, pitch: int) -> str:
        """Return the MEI attributes of a note at a MIDI pitch."""
        octave, within = divmod(pitch, SEMITONES)
        letter, octave = STEPS[within], octave - 1
        wanted = "s" if within in SHARPS else "n"
        before = self.known.get((letter, octave), "n")
        self.known[letter, octave] = wanted
        shown = f' accid="{wanted}"' if wanted != before else ""
        silent = ' accid.ges="s"' if not shown and wanted == "s" else ""
        return f'pname="{letter}" oct="{octave}"{shown}{silent}'
