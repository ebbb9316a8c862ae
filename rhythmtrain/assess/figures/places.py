"""Finding the places of a passage where a figure can be read wrongly.

Span figures are looked for in every beat, in its halves (thirds of a compound beat) and over two
beats; notes off the beat, rests, long notes and whole bars one by one.  Only notes that the player
is expected to play count, and nothing reaches from one run of the passage into the next.  Where
two names would give one and the same shape, the first found keeps it.
"""

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.assess.figures.figures import (
    BAR_DOUBT,
    BAR_NAMED_FROM,
    BAR_SHARE,
    BARS_OF_ENDING,
    COMPOUND,
    DOTTED,
    FIGURES,
    HALF,
    LONG_NOTE_BEATS,
    SIMPLE,
    THIRD,
    TWO,
    Chance,
)
from rhythmtrain.score.metre import Beat, value_name
from rhythmtrain.timing.timeline import PlayedBar, Timeline


@dataclass(frozen=True, slots=True)
class _Score:
    """The expected notes of a timeline, ready to be searched by place."""

    timeline: Timeline
    index: tuple[int, ...]
    at: tuple[Fraction, ...]

    def between(self, start: Fraction, stop: Fraction) -> range:
        """Return the ranks of the notes that begin from ``start`` to before ``stop``."""
        return range(bisect_left(self.at, start), bisect_left(self.at, stop))

    def gap(self, rank: int) -> Fraction | None:
        """Return the quarters to the next note of the same run, or None at its end."""
        if rank + 1 == len(self.at) or self._run(rank) != self._run(rank + 1):
            return None
        return self.at[rank + 1] - self.at[rank]

    def _run(self, rank: int) -> tuple[int, str]:
        note = self.timeline.notes[self.index[rank]]
        return note.run, note.role


def chances(timeline: Timeline) -> tuple[Chance, ...]:
    """Return every place of ``timeline`` where a figure can be read wrongly, in order of place."""
    expected = [index for index, note in enumerate(timeline.notes) if note.expected]
    score = _Score(timeline, tuple(expected), tuple(timeline.notes[i].at for i in expected))
    bars = [bar for bar in timeline.bars if bar.index is not None]
    found: dict[tuple[object, ...], Chance] = {}
    for search in (_span_figures, _off_beats, _bars):
        for bar in bars:
            for chance in search(score, bar):
                found.setdefault((chance.moved, chance.after), chance)
    for chance in _waits(score):
        found.setdefault((chance.moved, chance.after), chance)
    return tuple(sorted(found.values(), key=lambda chance: (chance.notes[0], chance.what)))


def _spans(bar: PlayedBar) -> Iterator[tuple[str, Fraction, Fraction]]:
    """Yield (kind, start in the timeline, length) of the spans in which figures stand."""
    beats = bar.bar.metre.beats
    for number, beat in enumerate(beats):
        at = bar.nominal + beat.start
        if beat.compound:
            yield COMPOUND, at, beat.length
            yield from (
                (THIRD, at + third * beat.length / 3, beat.length / 3) for third in (0, 1, 2)
            )
        elif beat.simple:
            yield SIMPLE, at, beat.length
            yield from ((HALF, at + half * beat.length / 2, beat.length / 2) for half in (0, 1))
            if number + 1 < len(beats) and beats[number + 1].length == beat.length:
                yield TWO, at, 2 * beat.length


def _span_figures(score: _Score, bar: PlayedBar) -> Iterator[Chance]:
    for kind, start, length in _spans(bar):
        ranks = score.between(start, start + length)
        shares = tuple((score.at[rank] - start) / length for rank in ranks)
        for figure in FIGURES:
            if kind not in figure.spans or figure.written != shares:
                continue
            if kind == TWO and figure.what.startswith(DOTTED) and _rests(score, ranks[0], length):
                continue
            moves = [(new - old) * length for old, new in zip(shares, figure.played, strict=True)]
            notes = tuple(score.index[rank] for rank in ranks)
            moved = tuple((note, by) for note, by in zip(notes, moves, strict=True) if by)
            names = {"half": value_name(length / 2) or "", "quarter": value_name(length / 4) or ""}
            yield Chance(figure.what.format(**names), notes, moved)


def _rests(score: _Score, rank: int, length: Fraction) -> bool:
    """Return whether the first beat of two is followed by a silent one: no dot is seen there."""
    return score.timeline.notes[score.index[rank]].note.length <= length / 2


def _off_beats(score: _Score, bar: PlayedBar) -> Iterator[Chance]:
    """Yield the notes off the beat that may be moved onto it, later or earlier."""
    for beat in bar.bar.metre.beats:
        for before, late, reach in _grid(beat):
            onset = bar.nominal + beat.start + before
            found = score.between(onset, onset + late / 2)
            if found and score.at[found[0]] == onset:
                yield from _off_beat(score, found[0], late, reach)


def _grid(beat: Beat) -> Iterator[tuple[Fraction, Fraction, Fraction]]:
    """Yield (place in the beat, quarters on to the next stress, quarters back to the last)."""
    if beat.compound:
        third = beat.length / 3
        yield third, 2 * third, third
        yield 2 * third, third, 2 * third
    elif beat.simple:
        half, quarter = beat.length / 2, beat.length / 4
        yield half, half, half
        yield quarter, quarter, quarter
        yield 3 * quarter, quarter, quarter


def _off_beat(score: _Score, rank: int, late: Fraction, early: Fraction) -> Iterator[Chance]:
    number = score.index[rank]
    note = score.timeline.notes[number]
    gap = score.gap(rank)
    if gap is not None and gap > late and late <= early:
        tied = note.note.length > late
        what = "syncopation moved to the beat" if tied else "off-beat moved to the beat"
        yield Chance(what, (number,), ((number, late),))
    before = score.gap(rank - 1) if rank else None
    if before is not None and before > early and early <= late:
        last = score.timeline.notes[score.index[rank - 1]]
        held = last.at + last.note.length > note.at - early
        what = "dot or tie ignored" if held else "off-beat played on the beat"
        yield Chance(
            what, (score.index[rank - 1], number) if held else (number,), ((number, -early),)
        )


def _waits(score: _Score) -> Iterator[Chance]:
    """Yield rests and long notes that may be a beat too short or too long."""
    for rank in range(len(score.at) - 1):
        gap = score.gap(rank)
        if gap is None:
            continue
        first, following = score.index[rank], score.index[rank + 1]
        length = score.timeline.notes[first].note.length
        bar = score.timeline.bars[score.timeline.notes[following].place]
        beat = bar.bar.metre.beats[0].length
        if gap - length >= beat:
            name = "rest"
        elif length >= LONG_NOTE_BEATS * beat:
            name = "long note"
        else:
            continue
        for word, by in (("short", -beat), ("long", beat)):
            moved = ((following, by),)
            yield Chance(f"{name} one beat {word}", (first, following), moved, by)


def _bars(score: _Score, bar: PlayedBar) -> Iterator[Chance]:
    """Yield the bar as rushed, and as dragged unless it is among the last of its run."""
    ranks = score.between(bar.start, bar.stop)
    if len(ranks) <= 1 or ranks[-1] + 1 == len(score.at) or score.gap(ranks[-1]) is None:
        return
    same = [
        other for other in score.timeline.bars if (other.run, other.role) == (bar.run, bar.role)
    ]
    notes = tuple(score.index[rank] for rank in ranks)
    for what, share in (("bar rushed", -BAR_SHARE), ("bar dragged", BAR_SHARE)):
        if share > 0 and bar in same[-BARS_OF_ENDING:]:
            continue
        moves = ((score.index[rank], share * (score.at[rank] - bar.start)) for rank in ranks)
        moved = tuple((note, by) for note, by in moves if by)
        yield Chance(what, notes, moved, share * bar.bar.length, BAR_NAMED_FROM, BAR_DOUBT)
