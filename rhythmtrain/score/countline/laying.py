"""Bars of a count line laid one after another: metre, number, upbeat, repeat and holds of each."""

from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from rhythmtrain.errors import DrillError
from rhythmtrain.score.countline.bars import WrittenBar
from rhythmtrain.score.countline.holds import Holds, check_holds
from rhythmtrain.score.countline.places import held_or_silent, places_of
from rhythmtrain.score.countline.signs import RepeatSigns, in_bar
from rhythmtrain.score.countline.words import Word
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.naming import every_beat_named
from rhythmtrain.score.passage import MOST_BARS, Bar, Kind, Place
from rhythmtrain.score.repeats import as_played

SHORT_WAY_BACK = (
    "goes back to a full bar and on to an upbeat, so the way back is short; "
    "a first time and a second time would say both"
)


@dataclass(frozen=True, slots=True)
class Hint:
    """A gentle hint: nothing is wrong, but something else may have been meant."""

    bar: int
    message: str
    line: int
    column: int

    def __str__(self) -> str:
        """Return the hint as one line: "bar 3: (&) prints a rest; …"."""
        return f"bar {self.bar}: {self.message}"


@dataclass(frozen=True, slots=True)
class Reading:
    """What was read: the bars, and gentle hints."""

    bars: tuple[Bar, ...]
    hints: tuple[Hint, ...] = ()


@dataclass(slots=True)
class Laying:
    """Bars laid one after another; what must be known of those before."""

    metre: Metre
    first_number: int | None
    bars: list[Bar] = field(default_factory=list)
    hints: list[Hint] = field(default_factory=list)
    held: Holds = field(default_factory=dict)
    beat: str | None = field(init=False)
    start: int = 0
    signs: RepeatSigns = field(default_factory=RepeatSigns)

    def __post_init__(self) -> None:
        """Count every metre to come as the first is counted."""
        self.beat = self.metre.beat

    @property
    def next_number(self) -> int:
        """Return the number of the bar that comes next."""
        if self.bars:
            return self.bars[-1].number + 1
        return 1 if self.first_number is None else self.first_number

    def add(self, written: WrittenBar) -> None:
        """Lay one written bar, or the several bars that a rest stands for."""
        if len(self.bars) + max(written.rest, 1) > MOST_BARS:
            raise written.first.error(f"the rhythm has more than {MOST_BARS} bars")
        self.signs.check(written, self.next_number)
        if written.marks.metre is not None:
            self.metre = _metre(written.marks.metre, self.beat)
        if written.opens:
            self.start = len(self.bars)
        self._lay(written)
        if written.times:
            self._close(written)

    def done(self) -> Reading:
        """Return all bars, once every repeat is closed and every hold holds something."""
        self.signs.finish()
        bars = tuple(self.bars)
        as_played(bars)
        check_holds(bars, self.held)
        return Reading(every_beat_named(bars), tuple(self.hints))

    def _lay(self, written: WrittenBar) -> None:
        places = places_of(written.counts, self.metre)
        begins, number = self._beginning(written, places), self.next_number
        if begins:
            number = self.bars[-1].number if self.bars else (self.first_number or 0)
        index = len(self.bars)
        for place, count in zip(places, written.counts, strict=True):
            if place.kind is Kind.HELD:
                self.held[index, place.at] = count.word
        for word, message in held_or_silent(written.counts, places, self.metre):
            self.hints.append(Hint(number, message, word.line, word.column))
        marks = written.marks
        self.bars.append(
            Bar(
                number,
                self.metre,
                places,
                begins,
                self.metre.length,
                opens=written.opens,
                ending=marks.ending,
                tempo=marks.tempo,
                pause=marks.pause,
                landmarks=marks.landmarks,
            )
        )
        self.bars += _silent(self.metre, number, written.rest - 1)

    def _beginning(self, written: WrittenBar, places: tuple[Place, ...]) -> Fraction:
        """Return where the bar begins: 0, or later for an upbeat and a bar that completes one."""
        first = places[0].at if places else Fraction(0)
        if not first:
            return first
        if not self.bars:
            return first
        before = self.bars[-1]
        if written.opens:
            if before.times and before.ends == before.metre.length:
                word = written.first
                self.hints.append(Hint(before.number, SHORT_WAY_BACK, word.line, word.column))
            self._share(written.first, self.metre.length - first)
            return first
        begins = self.metre.length - (before.metre.length - before.ends)
        completes = before.times and before.ends < before.metre.length
        if completes and not written.marks.ending and 0 < begins <= first:
            return begins
        return Fraction(0)

    def _close(self, written: WrittenBar) -> None:
        closing, back = len(self.bars) - 1, self.bars[self.start]
        self.bars[closing] = replace(self.bars[closing], times=written.times)
        if back.begins:
            self._share(written.last, back.length)
        self.signs.close()
        self.start = closing + 1

    def _share(self, word: Word, upbeat: Fraction) -> None:
        """End the last bar where an upbeat of ``upbeat`` quarters begins."""
        last = self.bars[-1]
        ends = last.metre.length - upbeat
        wrong = None
        if last.ends not in (ends, last.metre.length):
            wrong = (
                "this bar goes back to one upbeat and on to another of a different length: "
                "write a first time and a second time"
            )
        elif ends <= last.begins or (last.places and last.places[-1].at >= ends):
            wrong = (
                "this bar and the upbeat at the repeat share one bar, but both fill its end: "
                "leave the upbeat's counts out of this one"
            )
        if wrong is not None:
            raise in_bar(word.error(wrong), last.number)
        self.bars[-1] = replace(last, ends=ends)


def _metre(word: Word, beat: str | None) -> Metre:
    try:
        return Metre.parse(word.text).with_beat(beat)
    except DrillError as error:
        raise word.error(error.message) from None


def _silent(metre: Metre, number: int, bars: int) -> Iterator[Bar]:
    """Yield ``bars`` bars of rest after the one numbered ``number``."""
    for more in range(1, bars + 1):
        yield Bar(number + more, metre, (), Fraction(0), metre.length)
