"""The count line's writer: one spelling for every passage.

Every beat is named; finer places stand only where something starts, stops or is counted.  Silent
or held places that follow each other share a bracket, bars of rest share a number, and lines break
between bars.  What was written is read back before it is given away: a row of bars that the count
line cannot say (a short bar beside no repeat, two ways of counting) is an error, never another
rhythm.  Bar numbers and pitches are not part of a count line.
"""

from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from itertools import groupby

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.bars import MOST_REST_BARS
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.countline.cue import read_cue
from rhythmtrain.score.countline.marks import MOST_LANDMARKS
from rhythmtrain.score.countline.signs import FIRST_TIME
from rhythmtrain.score.countline.words import LONGEST_LANDMARK
from rhythmtrain.score.counts import beat_at, inside_beat
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.naming import every_beat_named
from rhythmtrain.score.passage import Bar, Kind, Place, TempoMark

LONGEST_LINE = 88
BRACKETED = {Kind.SILENT: "({})", Kind.HELD: "[{}]"}
EIGHTHS = {"": Fraction(0), "la": Fraction(1, 3), "li": Fraction(2, 3)}


def write_bars(bars: tuple[Bar, ...]) -> str:
    """Return ``bars`` as a count line, which reads back as the same bars with every beat named.

    Raises:
        DrillError: a count line cannot say these bars.
    """
    named = tuple(_sayable(bar) for bar in every_beat_named(bars))
    text = "\n".join(_lines(_pieces(named)))
    metre = bars[0].metre.with_beat(common_beat(bars))
    try:
        again = read_bars(text, metre)
    except DrillError as error:
        raise DrillError(
            f"these bars cannot be written as a count line: {error.message}", bar=error.bar
        ) from None
    for meant, read in zip(named, again, strict=True):
        if _music(meant) != _music(read):
            raise DrillError(
                "its length, metre or way of counting cannot be written as a count line",
                bar=meant.number,
            )
    return text


def write_cue(cue: tuple[Bar, ...], beside: tuple[Bar, ...]) -> str:
    """Return ``cue`` as a count line beside the rhythm ``beside``: bar lines and counts only.

    Raises:
        DrillError: a count line cannot say these bars.
    """
    plain = tuple(
        replace(bar, opens=False, times=0, ending=0, tempo=None, pause=False, landmarks=())
        for bar in every_beat_named(cue)
    )
    text = "\n".join(_lines(_pieces(plain, signs=False)))
    read_cue(text, beside)
    return text


def write_places(places: tuple[Place, ...], metre: Metre) -> str:
    """Return the counts of one bar, as they stand between two bar lines."""
    pieces = []
    counts = zip(places, _counts(places, metre), strict=True)
    for kind, group in groupby(counts, key=lambda each: each[0].kind):
        if kind is Kind.PLAYED:
            pieces += [count + ">" * place.accent for place, count in group]
        else:
            pieces.append(BRACKETED[kind].format(" ".join(count for _, count in group)))
    return " ".join(pieces)


def common_beat(bars: tuple[Bar, ...]) -> str | None:
    """Return the drill's ``beat`` under which every bar is counted as it is, as far as one is."""
    for beat in sorted({bar.metre.beat for bar in bars} - {None}, key=str):
        if all(bar.metre.with_beat(beat).beats == bar.metre.beats for bar in bars):
            return beat
    return None


def write_tempo(bpm: float) -> str:
    """Return a tempo as it is written: 96, or 72.5."""
    return str(int(bpm)) if bpm == int(bpm) else repr(float(bpm))


def _sayable(bar: Bar) -> Bar:
    """Return ``bar`` with landmarks that can stand between quotation marks, as many as a bar takes."""
    said = (
        "".join(letter for letter in " ".join(words.split()) if letter.isprintable())
        for words in bar.landmarks
    )
    landmarks = tuple(words.replace('"', "'")[:LONGEST_LANDMARK].strip() for words in said)
    kept = [words for words in landmarks if words][:MOST_LANDMARKS]
    return replace(bar, landmarks=tuple(kept))


def _music(bar: Bar) -> tuple[Bar, object]:
    places = tuple(replace(place, pitches=()) for place in bar.places)
    plain = replace(bar, number=0, places=places, metre=replace(bar.metre, beat=None))
    return plain, bar.metre.beats


def _pieces(bars: tuple[Bar, ...], *, signs: bool = True) -> Iterator[str]:
    """Yield each bar, or row of bars of rest, with the bar line after it.

    Without ``signs`` there is nothing but counts, rests and plain bar lines.
    """
    if bars[0].opens:
        yield "|:"
    marks = [
        list(_marks(bar, before.metre)) if signs else []
        for before, bar in zip((bars[0], *bars), bars, strict=False)
    ]
    at = 0
    while at < len(bars):
        stop = _rest_until(bars, at, marks)
        bar = bars[at]
        body = write_places(bar.places, bar.metre) if bar.places else f"rest {stop - at}"
        line = _divider(bars[stop - 1], bars[stop] if stop < len(bars) else None)
        yield " ".join([*marks[at], body, *line])
        at = stop


def _rest_until(bars: tuple[Bar, ...], at: int, marks: list[list[str]]) -> int:
    """Return the index past the bars of rest that can share one number, from ``at`` on."""
    stop = at + 1
    while stop < len(bars) and stop - at < MOST_REST_BARS and not bars[at].places:
        here = bars[stop]
        if here.places or here.opens or bars[stop - 1].times or marks[stop]:
            break
        stop += 1
    return stop


def _marks(bar: Bar, before: Metre) -> Iterator[str]:
    if (bar.metre.groups, bar.metre.unit) != (before.groups, before.unit):
        yield f"metre {bar.metre}"
    if bar.tempo is not None:
        yield _tempo(bar.tempo)
    if bar.ending:
        yield "first time" if bar.ending == FIRST_TIME else "second time"
    if bar.pause:
        yield "pause"
    for words in bar.landmarks:
        yield f'"{words}"'


def _tempo(mark: TempoMark) -> str:
    begun = f"tempo {write_tempo(mark.bpm)}"
    if mark.to is None:
        return begun
    return f"{begun} to {write_tempo(mark.to)} over {mark.over_bars} bars"


def _divider(bar: Bar, after: Bar | None) -> Iterator[str]:
    opens = after is not None and after.opens
    if bar.times:
        yield ":|:" if opens else ":|"
        if bar.times > 2:  # noqa: PLR2004
            yield f"x{bar.times}"
    elif after is not None:
        yield "|:" if opens else "|"


def _counts(places: tuple[Place, ...], metre: Metre) -> Iterator[str]:
    """Yield how each place is written, given those before it in its bar."""
    named, eighth = -1, Fraction(0)
    for place in places:
        index = beat_at(metre, place.at)
        beat = metre.beats[index]
        share = (place.at - beat.start) / beat.length
        name = inside_beat(beat, share)
        follows, inside = EIGHTHS[name[:-2]] if name.endswith("ta") else eighth, name[-2:]
        if not share:
            named, eighth = index, Fraction(0)
            yield str(index + 1)
        elif named == index and not name.startswith("+") and follows == eighth:
            eighth = EIGHTHS.get(name, eighth)
            yield inside
        else:
            named, eighth = index, share if share in EIGHTHS.values() else Fraction(0)
            yield f"{index + 1}+{share.numerator}/{share.denominator}"


def _lines(pieces: Iterator[str]) -> Iterator[str]:
    """Yield the pieces in lines, broken after a bar line where one would be too long."""
    line = ""
    for piece in pieces:
        if line and len(line) + 1 + len(piece) > LONGEST_LINE:
            yield line
            line = piece
        else:
            line = f"{line} {piece}".strip()
    yield line
