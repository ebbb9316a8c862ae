"""The passage as written signs: notes, rests, dots, ties and tuplets, bar by bar.

The count line says where notes begin and end; on paper a length may need several signs tied
together, because the eye wants to see the beats.  The rules are common practice, no source: a
note that begins on a beat is written with one sign where there is one; one that begins off the
beat does not hide the next beat, except the syncopation of half a beat, and never the middle of a
bar of four; rests fill up the beats one by one.  A tuplet lasts one beat, or as many as its notes
reach over.  Beams join what lies in one beat, and where that is an eighth, three or two of them; in 5/8
or 7/8 the metre's own groups (2+2+3/8) or the score's beams say which, and where nothing does the
notes keep their flags: a group that is guessed is counted wrong.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.score.metre import GROUP, Metre
from rhythmtrain.score.naming import every_beat_named, sounding_into
from rhythmtrain.score.notation.signs import SHORTEST, value_of
from rhythmtrain.score.notation.split import split
from rhythmtrain.score.notation.tuplets import Tuplet, tuplets_of
from rhythmtrain.score.passage import Bar, Kind, Place


@dataclass(frozen=True, slots=True)
class Sign:
    """One printed note or rest.

    ``at`` and ``length`` are quarters in the bar as they sound.  ``value`` is the printed note
    value without its ``dots``, in quarters.  ``tied`` says that it is tied to the next sign, also
    over the bar line; ``begins`` that a note is struck here rather than held.  ``tuplet`` is the
    number of its tuplet in the bar, or None.
    """

    at: Fraction
    length: Fraction
    value: Fraction
    dots: int
    rest: bool
    begins: bool = False
    tied: bool = False
    accent: bool = False
    pitches: tuple[int, ...] = ()
    tuplet: int | None = None

    @property
    def stop(self) -> Fraction:
        """Return where the sign ends, in quarters in the bar."""
        return self.at + self.length


@dataclass(frozen=True, slots=True)
class NotatedBar:
    """One bar in signs.  A bar of rest has none; its rest is written for the whole bar.

    ``beams`` are (first, last) signs joined by a beam.
    """

    bar: Bar
    signs: tuple[Sign, ...]
    tuplets: tuple[Tuplet, ...]
    beams: tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class _Stretch:
    """A note, the rest of a note, or silence within a bar."""

    start: Fraction
    stop: Fraction
    place: Place
    begins: bool


def notated(bars: tuple[Bar, ...]) -> tuple[NotatedBar, ...]:
    """Return ``bars`` in written signs."""
    named = tuple(_holding(_from_its_beginning(every_beat_named(bars))))
    held = [bool(bar.places) and bar.places[0].kind is Kind.HELD for bar in named]
    return tuple(_notated(bar, on=on) for bar, on in zip(named, [*held[1:], False], strict=True))


def _from_its_beginning(bars: tuple[Bar, ...]) -> Iterator[Bar]:
    """Yield ``bars``; one that begins between its counts has a place at its beginning too."""
    for bar, sounding in zip(bars, sounding_into(bars), strict=True):
        kind = Kind.HELD if sounding else Kind.SILENT
        early = bool(bar.places) and bar.places[0].at > bar.begins
        first = (Place(bar.begins, kind),) if early else ()
        yield replace(bar, places=(*first, *bar.places))


def _holding(bars: Iterable[Bar]) -> Iterator[Bar]:
    """Yield ``bars``; where a note goes on into one, with its pitches at the beginning."""
    pitches: tuple[int, ...] = ()
    for bar in bars:
        held = bool(bar.places) and bar.places[0].kind is Kind.HELD
        first = (replace(bar.places[0], pitches=pitches),) if held else bar.places[:1]
        yield replace(bar, places=(*first, *bar.places[1:]))
        begun = [place.pitches for place in bar.places if place.kind is Kind.PLAYED]
        pitches = begun[-1] if begun else pitches


def beats_as_written(metre: Metre) -> Metre:
    """Return ``metre`` with the beats that its notation shows, however it is counted."""
    return metre.with_beat(GROUP if len(metre.groups) > 1 else None)


def _notated(bar: Bar, *, on: bool) -> NotatedBar:
    if all(place.kind is Kind.SILENT for place in bar.places):
        return NotatedBar(bar, (), (), ())
    metre = beats_as_written(bar.metre)
    stretches = tuple(_stretches(bar))
    edges = [(each.start, each.stop) for each in stretches]
    tuplets = tuplets_of(metre, edges)
    signs: list[Sign] = []
    for stretch in stretches:
        signs += _signs(stretch, metre, tuplets, on=on and stretch.stop == bar.ends)
    return NotatedBar(bar, tuple(signs), tuplets, tuple(_beams(signs, _spans(bar, metre))))


def _stretches(bar: Bar) -> Iterator[_Stretch]:
    """Yield notes and silences in order; silence goes on until something sounds."""
    turns: list[Place] = []
    for place in bar.places:
        goes_on = place.kind is Kind.HELD or (
            place.kind is Kind.SILENT and turns and turns[-1].kind is Kind.SILENT
        )
        if not turns or not goes_on:
            turns.append(place)
    stops = [*(place.at for place in turns[1:]), bar.ends]
    for place, stop in zip(turns, stops, strict=True):
        yield _Stretch(place.at, stop, place, begins=place.kind is Kind.PLAYED)


def _signs(
    stretch: _Stretch, metre: Metre, tuplets: tuple[Tuplet, ...], *, on: bool
) -> Iterator[Sign]:
    """Yield the signs of a stretch, tied where they are a note's; ``on``: also to the next bar."""
    rest = stretch.place.kind is Kind.SILENT
    pieces = list(_pieces(stretch, metre, tuplets, rest=rest))
    for start, stop in pieces:
        number = next((n for n, t in enumerate(tuplets) if t.start <= start < t.stop), None)
        ratio = Fraction(1) if number is None else tuplets[number].ratio
        value, dots = value_of((stop - start) * ratio) or ((stop - start) * ratio, 0)
        first, last = start == stretch.start, stop == stretch.stop
        yield Sign(
            at=start,
            length=stop - start,
            value=value,
            dots=dots,
            rest=rest,
            begins=first and stretch.begins,
            tied=not rest and (not last or on),
            accent=first and stretch.begins and stretch.place.accent,
            pitches=() if rest else stretch.place.pitches,
            tuplet=number,
        )


def _pieces(
    stretch: _Stretch, metre: Metre, tuplets: tuple[Tuplet, ...], *, rest: bool
) -> Iterator[tuple[Fraction, Fraction]]:
    """Yield (start, stop) of the signs: cut at the edges of tuplets, then as the eye wants it."""
    edges = {edge for tuplet in tuplets for edge in (tuplet.start, tuplet.stop)}
    inner = sorted(edge for edge in edges if stretch.start < edge < stretch.stop)
    for start, stop in pairwise([stretch.start, *inner, stretch.stop]):
        tuplet = next((t for t in tuplets if t.start <= start < t.stop), None)
        yield from split(metre, start, stop, rest=rest, tuplet=tuplet)


def _beams(signs: list[Sign], spans: list[tuple[Fraction, Fraction]]) -> Iterator[tuple[int, int]]:
    """Yield (first, last) of the runs of short notes inside one of ``spans``, and one tuplet."""
    run: list[int] = []
    for number, sign in enumerate(signs):
        short = not sign.rest and sign.value < 1
        if run and not (short and _together(signs[run[-1]], sign, spans)):
            if len(run) > 1:
                yield run[0], run[-1]
            run = []
        if short:
            run.append(number)
    if len(run) > 1:
        yield run[0], run[-1]


def _spans(bar: Bar, metre: Metre) -> list[tuple[Fraction, Fraction]]:
    """Return where beams may begin and must end: beats, and of eighths three or two in a row."""
    starts = [beat.start for beat in metre.beats]
    if metre.beats[0].length < 1:
        together = next((few for few in (3, 2) if len(starts) in (few, 2 * few)), 1)
        if together == 1 and bar.beams:
            return [(first, last + SHORTEST) for first, last in bar.beams]
        starts = starts[::together]
    return list(pairwise([*starts, metre.length]))


def _together(before: Sign, sign: Sign, spans: list[tuple[Fraction, Fraction]]) -> bool:
    inside = any(start <= before.at and sign.at < stop for start, stop in spans)
    in_tuplet = before.tuplet is not None and before.tuplet == sign.tuplet
    return before.tuplet == sign.tuplet and (in_tuplet or inside)
