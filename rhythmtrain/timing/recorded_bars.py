"""A passage laid on a recording: where each of its written places falls in the beat map.

A map numbers bars as printed.  Where a passage has repeats and the map goes on far enough, the
recording plays them, and its bars are numbered on as they are played; otherwise the recording
plays each bar once and a repeat goes back in it.

All places here are *recorded quarters*: written quarters along the recording, 0 at the first
whole bar of the passage that is practised; what the recording plays before it is negative.  Beats
of the map whose metre is not known (bars far from the passage, counted otherwise) are left out.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.errors import RequestError
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, Kind, Passage
from rhythmtrain.score.repeats import as_played
from rhythmtrain.timing.beatmap import FEWEST_BEATS, BeatMap
from rhythmtrain.timing.tempomap import TempoMap, through


@dataclass(frozen=True, slots=True)
class RecordedBar:
    """One bar of the recording: where its beat 1 lies (or would lie), its metre, where it ends.

    ``ends`` counts from beat 1, as in a written bar.
    """

    nominal: Fraction
    metre: Metre
    ends: Fraction

    @property
    def beats(self) -> int:
        """Return how many beats it has."""
        return sum(beat.start < self.ends for beat in self.metre.beats)


@dataclass(frozen=True, slots=True)
class MappedPassage:
    """A passage in a recording.

    ``quarters`` is the place of each beat of ``beat_map`` in recorded quarters.  ``starts`` is
    where each bar of the passage, in the order it is played once, begins in them.
    """

    beat_map: BeatMap
    quarters: tuple[Fraction, ...]
    starts: tuple[Fraction, ...]

    @property
    def tempo(self) -> TempoMap:
        """Return the map from recorded quarters to seconds; its time 0 is at ``zero_s``."""
        times = [beat.time_s for beat in self.beat_map.beats]
        return through(list(zip(self.quarters, times, strict=True)))

    @property
    def zero_s(self) -> float:
        """Return the second of the recording at which recorded quarter 0 falls."""
        return self.beat_map.start_s - self.tempo.seconds(self.quarters[0])

    def second(self, at: Fraction) -> float:
        """Return the second of the recording at which recorded quarter ``at`` falls."""
        return self.zero_s + self.tempo.seconds(at)

    def quarter(self, second: float) -> float:
        """Return the recorded quarter, as a float, that falls at ``second`` of the recording."""
        return self.tempo.quarters(second - self.zero_s)

    def uncertainty_s(self, at: Fraction) -> float:
        """Return the standard error of the mapped beat nearest to ``at``; 0 where none is told."""
        return self.beat_map.uncertainty_near(self.second(at))

    def covers(self, at: Fraction) -> bool:
        """Tell whether ``at`` lies between the first mapped beat and a beat after the last."""
        last = self.quarters[-1] - self.quarters[-2]
        return self.quarters[0] <= at <= self.quarters[-1] + last


def map_passage(
    passage: Passage, beat_map: BeatMap, *, whole: Passage | None = None
) -> MappedPassage:
    """Return ``passage`` laid on ``beat_map``.

    ``whole`` is the passage that it was taken from, where it is an excerpt: its bars before and
    after tell their metres.

    Raises:
        RequestError: the map does not cover the passage, or has other beats in a bar than it.
    """
    score = whole or passage
    rows, goes_on = _rows(score, beat_map)
    bars = _bars_of(score, rows)
    starts = _starts(passage, score, rows, goes_on=goes_on)
    opening = passage.bars[0]
    zero = starts[0] + (opening.length if opening.begins else 0)
    beats, quarters = _placed(beat_map, bars)
    mapped = MappedPassage(
        beats,
        tuple(place - zero for place in quarters),
        tuple(start - zero for start in starts),
    )
    _check_covered(passage, mapped, beat_map)
    return mapped


def _rows(score: Passage, beat_map: BeatMap) -> tuple[list[tuple[int, int]], bool]:
    """Return (index, bar number in the map) of the bars as recorded; whether repeats are played."""
    order = as_played(score.bars)
    written = list(range(len(score.bars)))
    played = list(_numbered(score.bars, order))
    if list(order) != written and beat_map.bars[1] >= played[-1][1]:
        return played, True
    return [(index, score.bars[index].number) for index in written], False


def _numbered(bars: tuple[Bar, ...], order: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    """Yield (index, number) of bars numbered on as they are played; parts of a bar share one."""
    number = bars[order[0]].number
    for place, index in enumerate(order):
        bar = bars[index]
        shares = bar.begins and place and bar.begins == bars[order[place - 1]].ends
        number += 1 if place and not shares else 0
        yield index, number


def _bars_of(score: Passage, rows: list[tuple[int, int]]) -> dict[int, RecordedBar]:
    """Return the bars of the recording by their number in the map."""
    found: dict[int, RecordedBar] = {}
    at = Fraction(0)
    for index, number in rows:
        bar = score.bars[index]
        found[number] = RecordedBar(at - bar.begins, bar.metre, bar.ends)
        at += bar.length
    last = max(found)
    # What the recording plays after a last bar that ends early is not the passage's to judge.
    found[last] = replace(found[last], ends=found[last].metre.length)
    return found


def _starts(
    passage: Passage, score: Passage, rows: list[tuple[int, int]], *, goes_on: bool
) -> tuple[Fraction, ...]:
    """Return where each bar of ``passage``, as played once, begins along ``rows``."""
    places = []
    at = Fraction(0)
    for index, _ in rows:
        places.append((index, at))
        at += score.bars[index].length
    first = _index_in(passage, score)
    wanted = [first + index for index in as_played(passage.bars)]
    if goes_on and passage.bars == score.bars:
        return tuple(start for _, start in places)
    by_index: dict[int, Fraction] = {}
    for index, start in places:
        by_index.setdefault(index, start)
    return tuple(by_index[index] for index in wanted)


def _index_in(passage: Passage, score: Passage) -> int:
    number = passage.bars[0].number
    return next(index for index, bar in enumerate(score.bars) if bar.number == number)


def _placed(
    beat_map: BeatMap, asked: dict[int, RecordedBar]
) -> tuple[BeatMap, tuple[Fraction, ...]]:
    """Return the beats of known metre, and the place of each."""
    known = _with_neighbours(beat_map, asked)
    beats, quarters = [], []
    for beat, following in pairwise((*beat_map.beats, None)):
        bar = known.get(beat.bar) if beat is not None else None
        if beat is None or bar is None:
            continue
        cut = following is not None and following.bar != beat.bar and beat.beat != bar.beats
        if beat.beat > bar.beats or cut:
            raise RequestError(
                f"bar {beat.bar} of the beat map has other beats than the passage, where it is in "
                f"{bar.metre} with {bar.beats}: is it the map of this piece, counted like this?"
            )
        beats.append(beat)
        quarters.append(bar.nominal + bar.metre.beats[beat.beat - 1].start)
    if len(beats) < FEWEST_BEATS:
        raise RequestError(
            f"the beat map covers bars {beat_map.bars[0]} to {beat_map.bars[1]}, not the bars "
            f"{min(asked)} to {max(asked)} of the passage: map those bars too (`rhythmtrain map`)"
        )
    return BeatMap(tuple(beats)), tuple(quarters)


def _with_neighbours(beat_map: BeatMap, asked: dict[int, RecordedBar]) -> dict[int, RecordedBar]:
    """Return ``asked`` with the bars around them, as far as their beats fit the metre beside."""
    last_beats = {beat.bar: beat.beat for beat in beat_map.beats}
    known = dict(asked)
    for number in range(min(asked) - 1, beat_map.bars[0] - 1, -1):
        metre = known[number + 1].metre
        if last_beats.get(number) != len(metre.beats):
            break
        nominal = known[number + 1].nominal - metre.length
        known[number] = RecordedBar(nominal, metre, metre.length)
    for number in range(max(asked) + 1, beat_map.bars[1] + 1):
        before = known[number - 1]
        if not 1 <= last_beats.get(number, 0) <= len(before.metre.beats):
            break
        known[number] = RecordedBar(before.nominal + before.ends, before.metre, before.metre.length)
    return known


def _check_covered(passage: Passage, mapped: MappedPassage, beat_map: BeatMap) -> None:
    """Refuse a map that begins after the passage does, or ends before its last note begins."""
    for index, start in zip(as_played(passage.bars), mapped.starts, strict=True):
        bar = passage.bars[index]
        notes = [place.at for place in bar.places if place.kind is Kind.PLAYED]
        last = start + max(notes, default=bar.begins) - bar.begins
        if not (mapped.covers(start) and mapped.covers(last)):
            first, final = beat_map.beats[0].name, beat_map.beats[-1].name
            raise RequestError(
                f"the beat map covers {first} to {final}, not bar {bar.number}: map the bars "
                f"{passage.bars[0].number} to {passage.bars[-1].number} too (`rhythmtrain map`)"
            )
