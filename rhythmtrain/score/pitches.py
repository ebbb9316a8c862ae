"""Pitches by name: ``D5`` is the D above the treble clef's middle line, ``C4`` is middle C.

Scientific pitch names with sharps and flats (``F#5``, ``Bb3``, ``C##4``), as MIDI note numbers.
"""

import re

from rhythmtrain.errors import DrillError

LETTERS = {"C": 0, "D": 2, "E": 4, "F": 5, "G": 7, "A": 9, "B": 11}
ACCIDENTALS = {"": 0, "#": 1, "##": 2, "b": -1, "bb": -2}
SHARP_NAMES = ("C", "C#", "D", "D#", "E", "F", "F#", "G", "G#", "A", "A#", "B")
HIGHEST = 127
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


def pitch_name(number: int) -> str:
    """Return the name of a MIDI note number, with a sharp where it needs one."""
    return f"{SHARP_NAMES[number % 12]}{number // 12 - 1}"
