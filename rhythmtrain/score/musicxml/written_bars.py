"""Bars written as the measures of a MusicXML part: metres, tempi, landmarks, repeats, and the notes.

A passage tells a bar in pieces where its tempo changes inside; on paper they are one measure again.
A tempo that changes gradually is told in words, and to programs as the mean tempo of every bar.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.score.metre import Metre
from rhythmtrain.score.musicxml.signs import JUMP_WORDS, LONGEST_WORDS
from rhythmtrain.score.musicxml.written_notes import (
    IN_THE_MIDDLE,
    LOW_IN_THE_MIDDLE,
    ON_THE_LINE,
    TYPE_NAMES,
    Pen,
    bar_notes,
    bar_rest,
)
from rhythmtrain.score.musicxml.xml_text import element, words
from rhythmtrain.score.notation.notation import NotatedBar
from rhythmtrain.score.passage import Bar, TempoMark
from rhythmtrain.score.tempo import quarters_a_minute

TWICE = 2
LONGEST_LETTER = 3
LOW = 57  # below A3 on the whole, the bass clef is read more easily


@dataclass(frozen=True, slots=True)
class Piece:
    """A bar, or a piece of one, to be written: what stands before it, and what it is played at.

    ``speed`` is the quarters a minute to be told from here on, None where it goes on; ``mark`` the
    tempo in print.  ``fermata`` stands on its last sign; ``tied_from`` is whether a note is tied to its
    first.  ``ending`` is "1", "1, 2" or "2" where first or second time bars begin, ``ends`` how they end.
    """

    bar: NotatedBar
    speed: float | None = None
    mark: TempoMark | None = None
    fermata: bool = False
    tied_from: bool = False
    ending: str = ""
    under: str = ""
    ends: str = ""


def measures(pieces: Sequence[Piece], pen: Pen, *, staff: str) -> Iterator[str]:
    """Yield the measures of a part; ``staff`` is what ``attributes`` say of its staff."""
    metre: Metre | None = None
    number: int | None = None
    for place, group in enumerate(_joined(pieces)):
        first = group[0].bar.bar
        content = [_left(group[0])]
        shown = metre is None or (first.metre.groups, first.metre.unit) != (
            metre.groups,
            metre.unit,
        )
        start = element("divisions", pen.divisions) if metre is None else ""
        time = _time(first.metre) if shown else ""
        if start or time:
            content.append(element("attributes", start, time, staff if metre is None else ""))
        for piece in group:
            content += [*_directions(piece), *_notes(piece, pen)]
        content.append(_right(group[-1], last=group[-1] is pieces[-1]))
        silent = not any(piece.bar.signs for piece in group)
        yield element("measure", *content, **_named(first, number, place, silent=silent))
        metre, number = first.metre, first.number


def clef_of(pitches: Sequence[int]) -> tuple[str, tuple[str, int]]:
    """Return clef and lines for the pitches of a part, and where a note without one stands."""
    if not pitches:
        clef = element("clef", element("sign", "percussion"))
        return clef + element("staff-details", element("staff-lines", 1)), ON_THE_LINE
    low = sorted(pitches)[len(pitches) // 2] < LOW
    sign, line = ("F", 4) if low else ("G", 2)
    middle = LOW_IN_THE_MIDDLE if low else IN_THE_MIDDLE
    return element("clef", element("sign", sign), element("line", line)), middle


def _joined(pieces: Sequence[Piece]) -> Iterator[list[Piece]]:
    """Yield the pieces of each bar together."""
    group: list[Piece] = []
    for piece in pieces:
        if group and not _goes_on(group[-1].bar.bar, piece):
            yield group
            group = []
        group.append(piece)
    if group:
        yield group


def _goes_on(before: Bar, piece: Piece) -> bool:
    bar = piece.bar.bar
    parted = before.times or bar.opens or piece.ending
    same = (before.number, before.metre, before.ends) == (bar.number, bar.metre, bar.begins)
    return same and not parted


def _named(bar: Bar, before: int | None, place: int, *, silent: bool) -> dict[str, str]:
    """Return the measure's number; a second piece of a bar has none of its own.

    A bar of rest that is cut short says so, for without notes nothing else tells.
    """
    short = bar.length != bar.metre.length
    if short and bar.number == before:
        return {"number": f"X{place}", "implicit": "yes"}
    return {"number": str(bar.number)} | (
        {"implicit": "yes"} if bar.begins or (short and silent) else {}
    )


def _time(metre: Metre) -> str:
    beats = element("beats", "+".join(map(str, metre.groups)))
    return element("time", beats, element("beat-type", metre.unit))


def _left(piece: Piece) -> str:
    opens = piece.bar.bar.opens
    if not (opens or piece.ending):
        return ""
    ending = element("ending", number=piece.ending, type="start") if piece.ending else ""
    style = element("bar-style", "heavy-light") if opens else ""
    repeat = element("repeat", direction="forward") if opens else ""
    return element("barline", style, ending, repeat, location="left")


def _right(piece: Piece, *, last: bool) -> str:
    times = piece.bar.bar.times
    if not (times or piece.ends or last):
        return ""
    style = element("bar-style", "light-heavy") if times or last else ""
    ending = element("ending", number=piece.under, type=piece.ends) if piece.ends else ""
    often = {"times": times} if times > TWICE and not piece.ends else {}
    repeat = element("repeat", direction="backward", **often) if times else ""
    return element("barline", style, ending, repeat, location="right")


def _directions(piece: Piece) -> Iterator[str]:
    """Yield tempo and landmarks at the start of a piece."""
    yield from _tempo(piece)
    for landmark in piece.bar.bar.landmarks:
        letter = len(landmark) <= LONGEST_LETTER or len(landmark) > LONGEST_WORDS
        jump = any(pattern.fullmatch(landmark) for _, pattern in JUMP_WORDS)
        kind = "rehearsal" if letter or jump else "words"
        yield _above(element(kind, words(landmark)))


def _tempo(piece: Piece) -> Iterator[str]:
    sound = "" if piece.speed is None else element("sound", tempo=decimal(piece.speed))
    metre, mark = piece.bar.bar.metre, piece.mark
    if mark is None:
        if sound:
            yield sound
        return
    value = metre.tempo_value
    dots = int(value.numerator == 3)  # noqa: PLR2004  (three halves of the plain value)
    plain = value / Fraction(3, 2) if dots else value
    if plain in TYPE_NAMES:
        beat = element("beat-unit", TYPE_NAMES[plain]) + element("beat-unit-dot") * dots
        shown = element("metronome", beat, element("per-minute", decimal(mark.bpm)))
    else:
        shown = element("words", f"quarter = {decimal(quarters_a_minute(mark.bpm, metre))}")
    yield _above(shown, sound)
    if mark.to is not None:
        over = f"{mark.over_bars} bar{'s' * (mark.over_bars != 1)}"
        yield _above(element("words", f"to {decimal(mark.to)} over {over}"))


def _above(sign: str, sound: str = "") -> str:
    return element("direction", element("direction-type", sign), sound, placement="above")


def decimal(value: float) -> str:
    """Return a number as MusicXML writes it: no exponent, no more digits than it has."""
    return f"{value:.6f}".rstrip("0").rstrip(".")


def _notes(piece: Piece, pen: Pen) -> Iterator[str]:
    bar = piece.bar
    if not bar.signs:
        yield bar_rest(bar.bar, pen, fermata=piece.fermata)
        return
    yield from bar_notes(bar, pen, tied_from=piece.tied_from, fermata=piece.fermata)
