"""What the fields of an ABC tune say: metre, unit of length, tempo, key (ABC 2.1, section 3.1)."""

import re
from fractions import Fraction

from rhythmtrain.errors import DrillError, FileError
from rhythmtrain.score.abc.doubts import Doubts
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
# Keys that are none, and those of the bagpipe, with and without their sharps (3.1.14).
NO_KEY = re.compile(r"\s*((none|HP|clef|treble|bass|alto|tenor|perc|middle|staffscale)\b.*)?")
BAGPIPE = "Hp"
_ADDED = re.compile(r"(\^\^|\^|__|_|=)([a-gA-G])(?![a-zA-Z])")
ALTERS = {"^^": 2, "^": 1, "__": -2, "_": -1, "=": 0}
_LENGTH = re.compile(r"(\d{0,4})(/{0,9})(\d{0,4})", re.ASCII)
_FRACTION = re.compile(r"(\d{1,4})/(\d{1,4})", re.ASCII)
FINEST_UNIT = 512
# "1/4=96", "1/4 3/8=40", "96"; and as before 2.0 "C=96", "C3=40", which count the unit of length (10.1).
_TEMPO = re.compile(
    r"\s*(?:(?:((?:\d{1,4}/\d{1,4}\s*)+)|C(\d{0,2}))=\s*)?(\d{1,4}(?:\.\d{1,3})?)\s*", re.ASCII
)
LONGEST_SHOWN = 20


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
        return Metre.parse(re.sub(r"[()\s]", "", plain))
    except DrillError as error:
        raise FileError(f"{name}, M: {error.message}, or M:C, M:C| or M:none") from error


def unit_of(text: str, *, name: str) -> Fraction:
    """Return the unit of length of ``L:`` in quarters.

    Raises:
        FileError: no fraction of a whole note such as notes have.
    """
    plain = text.strip()
    found = _FRACTION.fullmatch(plain + "/1" * (plain == "1"))
    lower = int(found[2]) if found is not None else 0
    if found is None or int(found[1]) != 1 or lower not in {2**at for at in range(10)}:
        raise FileError(
            f"{name}, L: {plain[:LONGEST_SHOWN]!r} is no length: write it like 1/8 (1/1, 1/2, 1/4 "
            f"and so on to 1/{FINEST_UNIT})"
        )
    return Fraction(4, lower)


def usual_unit(metre: Metre | None) -> Fraction:
    """Return the unit of length in quarters where no ``L:`` says it (3.1.7)."""
    return SIXTEENTH if metre is not None and metre.length / 4 < SHORT_BAR else EIGHTH


def speed_of(text: str, unit: Fraction) -> Fraction | None:
    """Return the quarters a minute of ``Q:``, or None where it says none (3.1.8)."""
    found = _TEMPO.fullmatch(_unquoted(text))
    if found is None:
        return None
    lengths = [
        Fraction(int(upper), int(lower))
        for upper, lower in _FRACTION.findall(found[1] or "")
        if int(lower)
    ]
    beat = 4 * sum(lengths, Fraction(0)) or unit * int(found[2] or 1)
    return Fraction(found[3]) * beat or None


def tempo_in_words(text: str) -> bool:
    """Return whether ``Q:`` says its tempo in words alone ("Allegro"), or nothing."""
    return not _unquoted(text).strip()


def _unquoted(text: str) -> str:
    return re.sub(r'"[^"]*"', "", text)


def length_of(text: str, *, name: str) -> Fraction:
    """Return by how much a note is longer than the unit: "3/2", "/", "//", "2" (4.3).

    Raises:
        FileError: nothing divides by 0.
    """
    found = _LENGTH.fullmatch(text)
    if found is None or (found[3] and len(found[2]) != 1):
        raise FileError(
            f"{name}: {text[:LONGEST_SHOWN]!r} is no length of a note: write it like 2, 3/2 or / "
            f"(with at most {LONGEST_NUMBER} digits)"
        )
    upper, strokes, lower = found[1] or "1", len(found[2]), found[3]
    if lower and not int(lower):
        raise FileError(f"{name}: a note cannot last {text!r}: nothing divides by 0")
    if not int(upper):
        raise FileError(f"{name}: a note cannot last {text!r}: a length is more than 0")
    return Fraction(int(upper), int(lower) if lower else 2**strokes)


def key_of(text: str) -> dict[str, int] | None:
    """Return by how many semitones each letter is altered in the key of ``K:``; None if it is no key (3.1.14)."""
    added = {letter.upper(): ALTERS[sign] for sign, letter in _ADDED.findall(text)}
    found = _KEY.match(text)
    if text.strip().startswith(BAGPIPE):
        return {"F": 1, "C": 1}
    if found is None:
        return added if added or NO_KEY.fullmatch(text) else None
    mode = found[3].lower()
    if mode.startswith("exp"):
        return added
    shift = next((MODES[each] for each in (mode[:3], mode[:1]) if each in MODES), 0)
    fifths = FIFTHS[found[1]] + {"#": 7, "b": -7, "": 0}[found[2]] + shift
    if fifths >= 0:
        return dict.fromkeys(SHARPS[:fifths], 1) | added
    return dict.fromkeys(FLATS[:-fifths], -1) | added


def speed_told(text: str, unit: Fraction, doubts: Doubts) -> Fraction | None:
    """Return the quarters a minute of ``Q:``; what is neither number nor quoted words is told."""
    speed = speed_of(text, unit)
    if speed is None and not tempo_in_words(text):
        shown = text.strip()[:LONGEST_SHOWN]
        doubts.add(f"Q:{shown} says no tempo: write it like Q:1/4=96, or words in quotes")
    return speed


def key_told(text: str, doubts: Doubts) -> dict[str, int]:
    """Return by how many semitones each letter is altered in the key of ``K:``; no key is told."""
    key = key_of(text)
    if key is None:
        shown = text.strip()[:LONGEST_SHOWN]
        doubts.add(
            f"K:{shown} is no key, such as K:G or K:Dmin: notes sound without sharps and flats"
        )
    return key or {}
