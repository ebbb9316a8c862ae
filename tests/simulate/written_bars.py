"""Bars as a musician could have written them, for laws about the count line.

Built from values, not from text: metres with any way of counting, places at common and odd shares
of a beat, bars of rest, marks, repeats with upbeats and endings.
"""

from dataclasses import replace
from fractions import Fraction

from hypothesis import HealthCheck, settings
from hypothesis import strategies as st

from rhythmtrain.score.metre import Metre
from rhythmtrain.score.naming import every_beat_named
from rhythmtrain.score.passage import Bar, Kind, Place, TempoMark
from rhythmtrain.units import Bpm

# How a law about written bars is tried: fewer, larger cases than usual, and no stopwatch.
LAW = settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
METRES = tuple(
    Metre.parse(text, beat=beat)
    for text, beat in (
        ("2/4", None), ("3/4", None), ("4/4", None), ("2/2", None), ("6/8", None), ("9/8", None),
        ("12/8", None), ("6/8", "eighth"), ("3/8", None), ("4/4", "half"), ("3+2/8", "group"),
        ("2+2+3/8", "group"), ("5/4", None), ("3+2/8", None),
    )
)  # fmt: skip
SHARES = tuple(
    Fraction(upper, lower)
    for upper, lower in ((1, 4), (1, 2), (3, 4), (1, 3), (2, 3), (1, 6), (5, 6), (1, 5), (3, 8))
)
# What a place is, and whether it is accented.
KINDS = st.sampled_from(
    ((Kind.PLAYED, False), (Kind.PLAYED, True), (Kind.SILENT, False), (Kind.HELD, False))
)
TEMPI = st.floats(20, 300, allow_nan=False).map(lambda bpm: Bpm(round(bpm, 2)))
TEMPO_MARKS = st.one_of(
    st.builds(TempoMark, TEMPI), st.builds(TempoMark, TEMPI, TEMPI, st.integers(1, 20))
)
WORDS = (
    st.text("abcDEF 'é", min_size=1, max_size=12)
    .map(lambda words: " ".join(words.split()))
    .filter(bool)
)


@st.composite
def bars_of(draw: st.DrawFn, metre: Metre, begins: Fraction, ends: Fraction) -> Bar:
    """Draw one bar of ``metre`` that lasts from ``begins`` to ``ends``."""
    marks = draw(st.integers(0, 5)) == 0
    bar = Bar(
        0,
        metre,
        (),
        begins,
        ends,
        tempo=draw(st.none() | TEMPO_MARKS) if marks else None,
        pause=marks and draw(st.booleans()),
        landmarks=tuple(draw(st.lists(WORDS, max_size=2))) if marks else (),
    )
    if not begins and draw(st.integers(0, 4)) == 0:
        return bar
    spots = {beat.start + share * beat.length for beat in metre.beats for share in SHARES}
    fine = draw(st.sets(st.sampled_from(sorted(spots)), max_size=3))
    beats = {beat.start for beat in metre.beats}
    here = sorted(spot for spot in beats | fine | {begins} if begins <= spot < ends)
    kinds = draw(st.lists(KINDS, min_size=len(here), max_size=len(here)))
    return replace(bar, places=tuple(map(Place, here, *zip(*kinds, strict=True))))


@st.composite
def sections(draw: st.DrawFn, metre: Metre, upbeat: Fraction) -> list[Bar]:
    """Draw a repeat, with an upbeat of ``upbeat`` quarters and with endings, or plain bars."""
    begins = metre.length - upbeat if upbeat else Fraction(0)
    row = [draw(bars_of(metre, begins, metre.length))] if upbeat else []
    row += [draw(bars_of(metre, Fraction(0), metre.length)) for _ in range(draw(st.integers(1, 4)))]
    if not upbeat and draw(st.booleans()):
        return row
    row.append(draw(bars_of(metre, Fraction(0), begins or metre.length)))
    row[0] = replace(row[0], opens=True)
    row[-1] = replace(row[-1], times=draw(st.sampled_from((2, 2, 3, 99))))
    if draw(st.booleans()) and len(row) > 2:
        row[-1] = replace(row[-1], ending=1)
        row.append(replace(draw(bars_of(metre, Fraction(0), metre.length)), ending=2))
        if upbeat:
            row[-1] = _cut(row[-1], begins)
    return row


@st.composite
def written_bars(draw: st.DrawFn) -> tuple[Bar, ...]:
    """Draw a row of bars, numbered as read, every beat named, no hold where nothing sounds."""
    metre = draw(st.sampled_from(METRES))
    upbeat = Fraction(0)
    if draw(st.booleans()):
        last = metre.beats[-1]
        upbeat = draw(st.sampled_from((last.length, last.length / 2)))
        if upbeat >= metre.length:
            upbeat = Fraction(0)
    rows: list[Bar] = []
    for _ in range(draw(st.integers(1, 3))):
        rows += draw(sections(metre, upbeat))
        if not upbeat and draw(st.booleans()):
            changes = [each for each in METRES if each.beat == metre.beat]
            metre = draw(st.sampled_from(changes))
    if rows[-1].ends < rows[-1].metre.length and rows[-1].ending:
        rows[-1] = replace(rows[-1], ends=rows[-1].metre.length)
    return every_beat_named(_sounding(_numbered(rows)))


def _cut(bar: Bar, ends: Fraction) -> Bar:
    places = tuple(place for place in bar.places if place.at < ends)
    return replace(bar, ends=ends, places=places)


def _numbered(rows: list[Bar]) -> tuple[Bar, ...]:
    number = 0 if rows[0].begins else 1
    done: list[Bar] = []
    for bar in rows:
        shares = bool(done and bar.begins)
        done.append(replace(bar, number=number - shares))
        number += not shares
    return tuple(done)


def _sounding(bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    """Return ``bars`` with a note where a hold would have nothing to hold as written."""
    done = []
    sounding = False
    for bar in bars:
        sounding = sounding and bool(bar.places) and bar.ending != 2
        places = []
        for place in bar.places:
            wrong = place.kind is Kind.HELD and not sounding
            right = replace(place, kind=Kind.PLAYED) if wrong else place
            sounding = right.kind is not Kind.SILENT
            places.append(right)
        done.append(replace(bar, places=tuple(places)))
    return tuple(done)
