"""Pitches by name: ``D5`` is the D above the treble clef's middle line, ``C4`` is middle C.

Scientific pitch names with sharps and flats (``F#5``, ``Bb3``, ``C##4``), as MIDI note numbers; and
how a part writes what sounds: its key tells which notes have sharps and which flats, and a part for
a transposing instrument is written higher or lower than it sounds.
"""

import re
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass

from rhythmtrain.errors import DrillError

LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
ACCIDENTALS = {"": 0, "#": 1, "##": 2, "b": -1, "bb": -2}
SHARP_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
FLAT_NAMES = ("C", "Db", "D", "Eb", "E", "F", "Gb", "G", "Ab", "A", "Bb", "B")
# Semitones of a major scale above its keynote; most sharps or flats of a key that anybody reads.
MAJOR = frozenset({0, 2, 4, 5, 7, 9, 11})
MOST_SIGNS = 6
OCTAVE, FIFTH = 12, 7
HIGHEST = 127
# Along the line of fifths, on which C is 0: the letters, and the places of some notes.
ALONG_FIFTHS = "FCGDAEB"
FLATTEST, F_FLAT, B_SHARP = -3, -8, 12
_NAME = re.compile(r"([A-Ga-g])(##?|bb?|)(-1|[0-9])", re.ASCII)


def pitch_number(name: str) -> int:
    """Return the MIDI note number of the pitch called ``name``; C4 is 60.

    Raises:
        DrillError: not a pitch, or one that MIDI has no number for.
    """
    match = _NAME.fullmatch(name)
    if match is None:
        raise DrillError(f"{name[:20]!r} is not a pitch: write it like D5, F#4 or Bb3")
    number = LETTERS[match[1].upper()] + ACCIDENTALS[match[2]] + 12 * (int(match[3]) + 1)
    if not 0 <= number <= HIGHEST:
        raise DrillError(f"{name!r} is too low or too high: pitches go from C-1 to G9")
    return number


def pitch_name(number: int, *, flat: bool = False) -> str:
    """Return the name of a MIDI note number, with a sharp, or a flat, where it needs one."""
    names = FLAT_NAMES if flat else SHARP_NAMES
    return f"{names[number % OCTAVE]}{number // OCTAVE - 1}"


def written_flat(numbers: Iterable[int]) -> bool:
    """Tell whether one would write these notes with flats: they fit best into a key that has flats."""
    return _signs_of_key(numbers) < 0


@dataclass(frozen=True, slots=True)
class Spelling:
    """How a part writes pitches: ``up`` semitones above what sounds, and with which letters.

    ``flattest`` is the first of its twelve notes along the line of fifths, on which F is -1, C 0, G 1.
    """

    up: int = 0
    flattest: int = FLATTEST

    def spelt(self, number: int) -> tuple[str, int, int]:
        """Return letter, octave, and semitones above the plain letter of a sounding MIDI pitch."""
        written = number + self.up
        fifths = self.flattest + (written * FIFTH - self.flattest) % OCTAVE
        alter, letter = divmod(fifths + 1, len(ALONG_FIFTHS))
        plain = written - alter
        return ALONG_FIFTHS[letter], plain // OCTAVE - 1, alter


def spelling_of(numbers: Iterable[int], *, up: int = 0) -> Spelling:
    """Return how a part that sounds like ``numbers`` is written, ``up`` semitones higher.

    In C the notes go from E flat to G sharp, in other keys accordingly; no note has two signs.
    """
    signs = _signs_of_key(number + up for number in numbers)
    return Spelling(up, min(max(signs + FLATTEST, F_FLAT), B_SHARP - OCTAVE + 1))


def _signs_of_key(numbers: Iterable[int]) -> int:
    """Return the sharps, or as a negative number the flats, of the key that the notes fit best.

    Of keys that fit as well the one with the fewest signs is taken, and sharps before flats.
    """
    heard = Counter(number % OCTAVE for number in numbers)

    def fit(signs: int) -> tuple[int, int, int]:
        tonic = FIFTH * signs
        inside = sum(times for note, times in heard.items() if (note - tonic) % OCTAVE in MAJOR)
        return inside, -abs(signs), signs

    return max(range(-MOST_SIGNS, MOST_SIGNS + 1), key=fit)
