"""A passage laid on a recording: where each of its written places falls in the beat map.

Which bar of the map is which bar of the passage is said by ``recorded_order``, where its beats lie by
``recorded_beats``.

All places here are *recorded quarters*: written quarters along the recording, 0 at the first
whole bar of the passage that is practised; what the recording plays before it is negative.
"""

from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.errors import RequestError
from rhythmtrain.remedies import remedy
from rhythmtrain.score.passage import Bar, Kind, Passage
from rhythmtrain.score.repeats import as_played
from rhythmtrain.timing.beatmap import BeatMap
from rhythmtrain.timing.recorded_beats import placed_beats
from rhythmtrain.timing.recorded_order import Rows, recorded_order
from rhythmtrain.timing.tempomap import TempoMap, through


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
    rows, goes_on = recorded_order(score, beat_map)
    starts = _starts(passage, score, rows, goes_on=goes_on)
    opening = passage.bars[0]
    zero = starts[0] + (opening.length if opening.begins else 0)
    beats, quarters = placed_beats(score, rows, beat_map)
    mapped = MappedPassage(
        beats,
        tuple(place - zero for place in quarters),
        tuple(start - zero for start in starts),
    )
    _check_covered(passage, mapped, beat_map)
    return mapped


def held_bars(whole: Passage, beat_map: BeatMap) -> tuple[int, int]:
    """Return the first and the last bar of ``whole``, as printed, that the map holds to its last note.

    Where the recording plays repeats, of a bar that comes twice the first time counts.

    Raises:
        RequestError: it holds none, or has other beats in a bar.
    """
    rows, _ = recorded_order(whole, beat_map)
    beats, quarters = placed_beats(whole, rows, beat_map)
    first, stop = quarters[0], 2 * quarters[-1] - quarters[-2]
    held: dict[int, bool] = {}
    at = Fraction(0)
    for index, _ in rows:
        bar = whole.bars[index]
        held.setdefault(index, first <= at and at + _last_note(bar) < stop)
        at += bar.length
    numbers = [whole.bars[index].number for index, wholly in held.items() if wholly]
    if not numbers:
        opening, closing = beats.beats[0].name, beats.beats[-1].name
        raise RequestError(
            f"the beat map covers {opening} to {closing}, which is no whole bar of the passage: map "
            f"more of it {remedy('map')}"
        )
    return min(numbers), max(numbers)


def _last_note(bar: Bar) -> Fraction:
    """Return how far into ``bar`` its last note begins; of a rest, its last beat."""
    notes = [place.at for place in bar.places if place.kind is Kind.PLAYED]
    beats = [beat.start for beat in bar.metre.beats if bar.begins <= beat.start < bar.ends]
    return max(notes or beats, default=bar.begins) - bar.begins


def _starts(passage: Passage, score: Passage, rows: Rows, *, goes_on: bool) -> tuple[Fraction, ...]:
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


def _check_covered(passage: Passage, mapped: MappedPassage, beat_map: BeatMap) -> None:
    """Refuse a map that begins after the passage does, or ends before its last note begins."""
    for index, start in zip(as_played(passage.bars), mapped.starts, strict=True):
        bar = passage.bars[index]
        notes = [place.at for place in bar.places if place.kind is Kind.PLAYED]
        last = start + max(notes, default=bar.begins) - bar.begins
        if not (mapped.covers(start) and mapped.covers(last)):
            first, final = beat_map.beats[0].name, beat_map.beats[-1].name
            begins, ends = passage.bars[0].number, passage.bars[-1].number
            wanted = f"bar {begins}" if begins == ends else f"bars {begins} to {ends}"
            raise RequestError(
                f"the beat map covers {first} to {final}, not bar {bar.number}: map {wanted} too "
                f"{remedy('map')}"
            )
