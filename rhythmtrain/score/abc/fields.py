"""What the fields of an ABC tune say: metre, unit of length, tempo, key (ABC 2.1, section 3.1)."""

import re
from fractions import Fraction

from rhythmtrain.errors import DrillError, FileError
from rhythmtrain.score.metre import Metre

COMMON_TIME = {"C": Metre((4,), 4), "C|": Metre((2,), 2)}
FREE = ("none", "")
# A bar shorter than this has sixteenths as its unit, any other eighths (3.1.7); in whole notes.
SHORT_BAR, SIXTEENTH, EIGHTH = Fraction(3, 4), Fraction(1, 4), Fraction(1, 2)
LONGEST_NUMBER = 4
SHARPS, FLATS = "FCGDAEB", "BEADGCF"
# How many fifths up from C each letter lies, and each mode from major.
FIFTHS = {"F": -1, "C": 0, "G": 1, "D": 2, "A": 3, "E": 4, "B": 5}
MODES = {"maj": 0, "ion": 0, "mix": -1, "dor": -2, "m": -3, "min": -3, "aeo": -3, "phr": -4, "loc": -5, "lyd": 1}  # fmt: skip
_KEY = re.compile(r"\s*([A-G])([#b]?)\s*([A-Za-z]*)")
_LENGTH = re.compile(r"(\d{0,4})(/*)(\d{0,4})", re.ASCII)
_FRACTION = re.compile(r"(\d{1,4})/(\d{1,4})", re.ASCII)
_TEMPO = re.compile(r"(?:((?:\d{1,4}/\d{1,4}\s*)+)=\s*)?(\d{1,4}(?:\.\d{1,3})?)", re.ASCII)


def metre_of(text: str, *, name: str) -> Metre | None:
    """Return the metre of ``M:``; None for music without one.

    Raises:
        FileError: no metre; ``name`` is the file's.
    """
    plain = text.strip()
    if plain.lower() in FREE:
        return None
    if plain in COMMON_TIME:
        return COMMON_TIME[plain]
    try:
        return Metre.parse(plain.replace("(", "").replace(")", "").replace(" ", ""))
    except DrillError as error:
        raise FileError(f"{name}, M: {error.message}") from error


def unit_of(text: str, *, name: str) -> Fraction:
    """Return the unit of length of ``L:`` in quarters.

    Raises:
        FileError: no fraction of a whole note.
    """
    found = _FRACTION.fullmatch(text.strip())
    if text.strip() == "1":
        return Fraction(4)
    if found is None or not int(found[1]) or not int(found[2]):
        raise FileError(f"{name}, L: {text.strip()[:20]!r} is no length: write it like 1/8")
    return Fraction(int(found[1]), int(found[2])) * 4


def usual_unit(metre: Metre | None) -> Fraction:
    """Return the unit of length in quarters where no ``L:`` says it (3.1.7)."""
    return SIXTEENTH if metre is not None and metre.length / 4 < SHORT_BAR else EIGHTH


def speed_of(text: str, unit: Fraction) -> Fraction | None:
    """Return the quarters a minute of ``Q:``, or None where it is in words alone (3.1.8)."""
    found = _TEMPO.search(re.sub(r'"[^"]*"', "", text))
    if found is None:
        return None
    lengths = [
        Fraction(int(upper), int(lower))
        for upper, lower in _FRACTION.findall(found[1] or "")
        if int(lower)
    ]
    beat = 4 * sum(lengths, Fraction(0)) or unit
    return Fraction(found[2]) * beat or None


def length_of(text: str, *, name: str) -> Fraction:
    """Return by how much a note is longer than the unit: "3/2", "/", "//", "2" (4.3).

    Raises:
        FileError: nothing divides by 0.
    """
    found = _LENGTH.fullmatch(text)
    if found is None:
        raise FileError(f"{name}: {text[:20]!r} is no length of a note")
    upper, strokes, lower = int(found[1] or 1), len(found[2]), found[3]
    if lower and not int(lower):
        raise FileError(f"{name}: a note cannot last {text[:20]!r}: nothing divides by 0")
    if lower:
        return Fraction(upper, int(lower))
    return Fraction(upper, 2**strokes)


def key_of(text: str) -> dict[str, int]:
    """Return by how many semitones each letter is altered in the key of ``K:`` (3.1.14)."""
    found = _KEY.match(text)
    if found is None:
        return {}
    mode = found[3].lower()
    shift = next((MODES[each] for each in (mode[:3], mode[:1]) if each in MODES), 0)
    fifths = FIFTHS[found[1]] + {"#": 7, "b": -7, "": 0}[found[2]] + shift
    if fifths >= 0:
        return dict.fromkeys(SHARPS[:fifths], 1)
    return dict.fromkeys(FLATS[:-fifths], -1)
