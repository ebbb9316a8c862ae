"""Signs written as the notes and rests of a MusicXML bar.

A note without a pitch is ``unpitched``, where one line of a staff is (E4 as MusicXML counts it).  Every
note has its exact duration, and what is printed (type, dots, tuplet) where one sign can say it.
"""

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from math import log2

from rhythmtrain.score.musicxml.durations import NOTE_TYPES
from rhythmtrain.score.musicxml.xml_text import element
from rhythmtrain.score.notation.notation import NotatedBar, Sign
from rhythmtrain.score.notation.signs import DOTTED
from rhythmtrain.score.passage import Bar
from rhythmtrain.score.pitches import Spelling

TYPE_NAMES = {value: name for name, value in NOTE_TYPES.items()}
ON_THE_LINE = ("E", 4)
IN_THE_MIDDLE = ("B", 4)
LOW_IN_THE_MIDDLE = ("D", 3)
VOICE = element("voice", 1)
ACCIDENTALS = {-1: "flat", 0: "natural", 1: "sharp"}


@dataclass(frozen=True, slots=True)
class Pen:
    """What all notes of a part share: parts of a quarter, where an unpitched note stands, spelling."""

    divisions: int
    unpitched: tuple[str, int] = ON_THE_LINE
    spelling: Spelling = field(default_factory=Spelling)

    def duration(self, length: Fraction) -> str:
        """Return a ``duration`` of ``length`` quarters."""
        return element("duration", int(length * self.divisions))


@dataclass(frozen=True, slots=True)
class InBar:
    """What a sign needs to know of its bar beside itself.

    ``altered`` are the accidentals of the bar so far, by letter and octave.
    """

    bar: NotatedBar
    printed: bool
    tied_from: bool
    fermata: bool
    altered: dict[tuple[str, int], int]


def bar_rest(bar: Bar, pen: Pen, *, fermata: bool) -> str:
    """Return the rest of a whole bar; in a bar that is cut short, a rest of that length."""
    whole = {"measure": "yes"} if bar.length == bar.metre.length else {}
    marks = element("notations", element("fermata")) if fermata else ""
    return element("note", element("rest", **whole), pen.duration(bar.length), VOICE, marks)


def bar_notes(bar: NotatedBar, pen: Pen, *, tied_from: bool, fermata: bool) -> Iterator[str]:
    """Yield the notes and rests of a bar that has some.

    ``tied_from`` is whether a note is tied to its first sign; ``fermata`` whether one stands on its last.
    """
    printed = _printed_tuplets(bar)
    beams = _beams(bar)
    altered: dict[tuple[str, int], int] = {}
    for number, sign in enumerate(bar.signs):
        last = number + 1 == len(bar.signs)
        place = InBar(bar, sign.tuplet in printed, tied_from, fermata and last, altered)
        yield from _sign(sign, number, place, pen, beams.get(number, ""))
        tied_from = sign.tied


def _printed_tuplets(bar: NotatedBar) -> set[int | None]:
    """Return the tuplets (None: what stands in none) whose every sign can be printed."""
    ratios = {number: tuplet.ratio for number, tuplet in enumerate(bar.tuplets)}
    odd = {
        sign.tuplet
        for sign in bar.signs
        if sign.tuplet is not None and not _sayable(sign, ratios[sign.tuplet])
    }
    return {None, *ratios} - odd


def _sayable(sign: Sign, ratio: Fraction) -> bool:
    return sign.value in TYPE_NAMES and sign.value * DOTTED[sign.dots] == sign.length * ratio


def _sign(sign: Sign, number: int, place: InBar, pen: Pen, beams: str) -> Iterator[str]:
    """Yield one note, the notes of one chord, or one rest."""
    silent = sign.rest or not (sign.begins or place.tied_from)
    heads = [element("rest")] if silent else _heads(sign, pen)
    ties = [] if silent else _ties(sign)
    before = [pen.duration(sign.length), *(element("tie", type=each) for each in ties), VOICE]
    first = _notations(sign, number, place, ties, beside=True)
    pitches = [] if silent else list(sign.pitches)
    signs = [_accidental(pitch, sign, place, pen) for pitch in pitches] or [""]
    printed = [_printed(sign, place, accidental) for accidental in signs]
    yield element("note", heads[0], *before, printed[0], "" if silent else beams, first)
    for head, shown in zip(heads[1:], printed[1:], strict=True):
        more = _notations(sign, number, place, ties, beside=False)
        yield element("note", element("chord"), head, *before, shown, more)


def _heads(sign: Sign, pen: Pen) -> list[str]:
    if not sign.pitches:
        step, octave = pen.unpitched
        shown = element("display-step", step) + element("display-octave", octave)
        return [element("unpitched", shown)]
    return [_pitch(pen.spelling.spelt(number)) for number in sign.pitches]


def _pitch(spelt: tuple[str, int, int]) -> str:
    letter, octave, alter = spelt
    altered = element("alter", alter) if alter else ""
    return element("pitch", element("step", letter), altered, element("octave", octave))


def _accidental(number: int, sign: Sign, place: InBar, pen: Pen) -> str:
    """Return the accidental that a note needs in its bar; one that is held needs none."""
    letter, octave, alter = pen.spelling.spelt(number)
    if not sign.begins or place.altered.get((letter, octave), 0) == alter:
        return ""
    place.altered[letter, octave] = alter
    return element("accidental", ACCIDENTALS[alter])


def _ties(sign: Sign) -> list[str]:
    return ["stop"] * (not sign.begins) + ["start"] * sign.tied


def _printed(sign: Sign, place: InBar, accidental: str) -> str:
    """Return type, dots, ``accidental`` and the ratio of the tuplet; the length where a sign says it."""
    ratio = Fraction(1) if sign.tuplet is None else place.bar.tuplets[sign.tuplet].ratio
    if not place.printed or not _sayable(sign, ratio):
        return accidental
    shown = element("type", TYPE_NAMES[sign.value]) + element("dot") * sign.dots + accidental
    if sign.tuplet is None:
        return shown
    tuplet = place.bar.tuplets[sign.tuplet]
    return shown + element(
        "time-modification",
        element("actual-notes", tuplet.notes),
        element("normal-notes", tuplet.time),
    )


def _notations(sign: Sign, number: int, place: InBar, ties: list[str], *, beside: bool) -> str:
    """Return the marks at a note: its ties, and ``beside`` them what stands once at a chord."""
    marks = "".join(element("tied", type=each) for each in ties)
    if beside:
        marks += _tuplet_ends(sign, number, place)
        marks += element("articulations", element("accent")) if sign.accent else ""
        marks += element("fermata") if place.fermata else ""
    return element("notations", marks) if marks else ""


def _tuplet_ends(sign: Sign, number: int, place: InBar) -> str:
    if sign.tuplet is None or not place.printed:
        return ""
    signs = place.bar.signs
    before = signs[number - 1].tuplet if number else None
    after = signs[number + 1].tuplet if number + 1 < len(signs) else None
    begins = element("tuplet", type="start", bracket="yes") if before != sign.tuplet else ""
    return begins + (element("tuplet", type="stop") if after != sign.tuplet else "")


def _beams(bar: NotatedBar) -> dict[int, str]:
    """Return the beams of each sign under one, by its number."""
    found: dict[int, str] = {}
    for first, last in bar.beams:
        levels = [_flags(sign) for sign in bar.signs[first : last + 1]]
        for place, own in enumerate(levels):
            before = levels[place - 1] if place else 0
            after = levels[place + 1] if place + 1 < len(levels) else 0
            found[first + place] = "".join(
                element("beam", _beam(level, before, after), number=level)
                for level in range(1, own + 1)
            )
    return found


def _flags(sign: Sign) -> int:
    return max(int(-log2(sign.value)), 1)


def _beam(level: int, before: int, after: int) -> str:
    """Return how the beam of one level goes on at a sign, given its neighbours' levels."""
    if level <= before:
        return "continue" if level <= after else "end"
    if level <= after:
        return "begin"
    return "backward hook" if before else "forward hook"
