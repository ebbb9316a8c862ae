"""Invented passages for tests: written out by hand, or drawn at random by Hypothesis."""

from fractions import Fraction

from hypothesis import strategies as st

from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, Kind, Passage, Place
from rhythmtrain.units import Bpm

METRES = tuple(
    Metre.parse(text, beat=beat)
    for text, beat in (
        ("4/4", None),
        ("3/4", None),
        ("2/4", None),
        ("2/2", None),
        ("6/8", None),
        ("12/8", None),
        ("3+2/8", None),
        ("2+2+3/8", "group"),
    )
)
SHARES = tuple(Fraction(n, d) for d in (1, 2, 3, 4, 5, 6) for n in range(d))


def bar(
    number: int,
    *played: Fraction | int | str,
    metre: str | Metre = "4/4",
    silent: tuple[Fraction | int | str, ...] = (),
    held: tuple[Fraction | int | str, ...] = (),
    begins: Fraction | int | str = 0,
    ends: Fraction | int | str | None = None,
) -> Bar:
    """Return a bar with notes at ``played`` quarters and counted places at ``silent``, ``held``."""
    metre = Metre.parse(metre) if isinstance(metre, str) else metre
    places = [
        Place(Fraction(at), kind)
        for kind, spots in ((Kind.PLAYED, played), (Kind.SILENT, silent), (Kind.HELD, held))
        for at in spots
    ]
    return Bar(
        number,
        metre,
        tuple(sorted(places, key=lambda place: place.at)),
        Fraction(begins),
        metre.length if ends is None else Fraction(ends),
    )


def passage(*bars: Bar, tempo: float = 60, cue: tuple[Bar, ...] = ()) -> Passage:
    """Return the passage of ``bars`` at ``tempo`` beats a minute."""
    return Passage("Ferry Step", Bpm(tempo), bars, cue=cue)


@st.composite
def bars(draw: st.DrawFn, number: int, metre: Metre, begins: Fraction) -> Bar:
    """Draw one bar: a rest, or places of every kind on and between the beats."""
    if draw(st.integers(0, 2)) == 0:
        return Bar(number, metre, (), begins, metre.length)
    inside = [
        beat.start + beat.length * share
        for beat in metre.beats
        for share in SHARES
        if beat.start + beat.length * share >= begins
    ]
    spots = draw(st.sets(st.sampled_from(inside), max_size=8)) if inside else set()
    kinds = st.sampled_from((Kind.PLAYED, Kind.PLAYED, Kind.SILENT, Kind.HELD))
    places = tuple(Place(at, draw(kinds)) for at in sorted(spots))
    return Bar(number, metre, places, begins, metre.length)


@st.composite
def passages(draw: st.DrawFn) -> Passage:
    """Draw a passage of up to six bars, perhaps with an upbeat, at 30 to 280 beats a minute."""
    metre = draw(st.sampled_from(METRES))
    upbeats = [
        beat.start + beat.length * share
        for beat in metre.beats
        for share in (Fraction(0), Fraction(1, 2))
    ]
    begins = draw(st.sampled_from([Fraction(0), *upbeats]))
    size = draw(st.integers(1, 6))
    drawn = tuple(
        draw(bars(index + (not begins), metre, begins if index == 0 else Fraction(0)))
        for index in range(size)
    )
    return passage(*drawn, tempo=draw(st.integers(30, 280)))
