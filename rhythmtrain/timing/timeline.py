"""The timeline: a passage laid out in the order it is practised, every note with its time.

A timeline is a row of played bars.  Before the passage stand the bars of the count-in; between
repeats of a phrase with an upbeat, or where asked, a counted bar; with ``echo`` every group of
bars is heard once and then left empty for the answer.  Written time runs on through all of them:
quarter 0 is the start of the first whole bar of the passage, and what comes before is negative.

*Run* is the how-manieth practising of the passage (from 1; 0 before the first); *repeat* is the
how-manieth time that a written bar comes round in the whole timeline.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from enum import StrEnum
from fractions import Fraction

from rhythmtrain.errors import RequestError
from rhythmtrain.score.entries import Entry, find_entries
from rhythmtrain.score.excerpt import unheld
from rhythmtrain.score.passage import Bar, Note, Passage, notes_of
from rhythmtrain.score.repeats import as_played
from rhythmtrain.score.tempo import speeds
from rhythmtrain.timing.tempomap import Stretch, TempoMap
from rhythmtrain.units import Seconds

MOST_REPEATS = 999
MOST_PLAYED_BARS = 100_000
PAUSE_FACTOR = 2


class Role(StrEnum):
    """What a played bar is for."""

    COUNT_IN = "count-in"
    PASSAGE = "passage"
    LISTEN = "listen"
    ANSWER = "answer"
    BETWEEN = "between"


@dataclass(frozen=True, slots=True)
class Practice:
    """How a passage is practised: the options that tracks and checking share.

    ``speed`` is the share of the written tempo, ``repeats`` how often the passage is played,
    ``count_in`` the bars before it, ``echo`` the bars heard before as many are left empty
    (0: none), ``between`` the counted bars between repeats.
    """

    speed: float = 1.0
    repeats: int = 1
    count_in: int = 0
    echo: int = 0
    between: int = 0

    def __post_init__(self) -> None:
        """Refuse what cannot be practised."""
        if not 1 <= self.repeats <= MOST_REPEATS:
            raise RequestError(f"repeats must be 1 to {MOST_REPEATS}, got {self.repeats}")
        asked = {"count-in": self.count_in, "echo": self.echo, "between": self.between}
        for name, value in asked.items():
            if not 0 <= value <= MOST_REPEATS:
                raise RequestError(f"{name} must be 0 to {MOST_REPEATS} bars, got {value}")


@dataclass(frozen=True, slots=True)
class PlayedBar:
    """One bar in playing order.

    ``index`` is its place in ``passage.bars``, or None for a counted bar that is not part of the
    passage; ``start`` is where it begins, in quarters.  ``nominal`` is where its beat 1 lies (or
    would lie, for an upbeat).
    """

    bar: Bar
    index: int | None
    start: Fraction
    role: Role
    run: int
    repeat: int

    @property
    def nominal(self) -> Fraction:
        """Return the quarter at which beat 1 of this bar lies or would lie."""
        return self.start - self.bar.begins

    @property
    def stop(self) -> Fraction:
        """Return the quarter at which the bar ends."""
        return self.start + self.bar.length


@dataclass(frozen=True, slots=True)
class PlayedNote:
    """One note in playing order; ``place`` is the index of its bar in the timeline."""

    note: Note
    place: int
    at: Fraction
    run: int
    repeat: int
    role: Role

    @property
    def expected(self) -> bool:
        """Return True when the player plays it (not where the bars are only heard)."""
        return self.role is not Role.LISTEN


@dataclass(frozen=True, slots=True)
class PlayedEntry:
    """One entry in playing order; ``note`` is the index of its note in the timeline."""

    entry: Entry
    note: int


@dataclass(frozen=True, slots=True)
class Timeline:
    """A passage laid out for practice, with the tempo map that gives every place its time."""

    passage: Passage
    practice: Practice
    bars: tuple[PlayedBar, ...]
    notes: tuple[PlayedNote, ...]
    cues: tuple[PlayedNote, ...]
    entries: tuple[PlayedEntry, ...]
    tempo: TempoMap

    @property
    def start(self) -> Fraction:
        """Return where the timeline begins, in quarters (before 0 with a count-in or upbeat)."""
        return self.bars[0].start

    @property
    def stop(self) -> Fraction:
        """Return where the timeline ends, in quarters."""
        return self.bars[-1].stop

    def seconds(self, at: Fraction) -> Seconds:
        """Return when ``at`` falls, in seconds from the start of the passage's first whole bar."""
        return self.tempo.seconds(at)

    def track_seconds(self, at: Fraction) -> Seconds:
        """Return when ``at`` falls in track time, in seconds from the start of the timeline."""
        return Seconds(self.tempo.seconds(at) - self.tempo.seconds(self.start))


Row = tuple[int | None, Bar, Role, int]


def lay_out(passage: Passage, practice: Practice | None = None) -> Timeline:
    """Return ``passage`` laid out in playing order.

    Raises:
        RequestError: a speed that is not more than 0, or too many bars with all the repeats.
        DrillError: too many bars as played once.
    """
    practice = practice or Practice()
    _check_length(passage, practice)
    bars = _numbered(_rows(passage, practice))
    notes: list[PlayedNote] = []
    cues: list[PlayedNote] = []
    entries: list[PlayedEntry] = []
    for first, last in _phrases(bars):
        chunk = bars[first:last]
        written = unheld(tuple(played.bar for played in chunk))
        beside = _cue_beside(passage, chunk)
        offset = chunk[0].start + (written[0].length if written[0].begins else 0)
        found = find_entries(written, beside, passage.marks)
        entries += [PlayedEntry(entry, len(notes) + entry.note) for entry in found]
        notes += [_played(note, bars, first, offset) for note in notes_of(written)]
        cues += [_played(note, bars, first, offset) for note in notes_of(beside)] if beside else []
    heard = tuple(entry for entry in entries if notes[entry.note].expected)
    tempo = _tempo(passage, bars).faster(practice.speed)
    return Timeline(passage, practice, bars, tuple(notes), tuple(cues), heard, tempo)


def _check_length(passage: Passage, practice: Practice) -> None:
    once = len(as_played(passage.bars)) * (2 if practice.echo else 1)
    if once * practice.repeats > MOST_PLAYED_BARS:
        most = MOST_PLAYED_BARS // once
        raise RequestError(
            f"{practice.repeats} repeats of {once} bars are too many: at most {most} fit"
        )


def _rows(passage: Passage, practice: Practice) -> Iterator[Row]:
    """Yield (index, bar, role, run) in playing order."""
    order = as_played(passage.bars)
    opening, closing = passage.bars[order[0]], passage.bars[order[-1]]
    yield from _count_in(opening, practice.count_in)
    for run in range(1, practice.repeats + 1):
        if run > 1:
            yield from _between(closing, opening, practice.between, run)
        if practice.echo:
            yield from _echoed(passage, order, practice.echo, run)
        else:
            for index in order:
                yield index, passage.bars[index], Role.PASSAGE, run


def _echoed(passage: Passage, order: tuple[int, ...], size: int, run: int) -> Iterator[Row]:
    """Yield groups of ``size`` whole bars, each heard and then left empty; an upbeat joins one."""
    group: list[int] = []
    for place, index in enumerate(order):
        group.append(index)
        whole = len(group) - bool(passage.bars[group[0]].begins)
        if whole < size and place < len(order) - 1:
            continue
        first, last = passage.bars[group[0]], passage.bars[group[-1]]
        for role in (Role.LISTEN, Role.ANSWER):
            if role is Role.ANSWER and not _goes_on(last, first):
                yield from _between(last, first, 0, run)
            for member in group:
                yield member, passage.bars[member], role, run
        group = []


def _count_in(opening: Bar, bars: int) -> Iterator[Row]:
    """Yield ``bars`` counted bars that lead to ``opening``; the last fills up to an upbeat.

    An upbeat of more than half a bar leaves too little to count, so a whole bar is added.
    """
    fill = opening.begins if bars else Fraction(0)
    whole = bars - bool(fill) + (0 < fill * 2 < opening.metre.length)
    yield from _empty(opening, whole, fill, (Role.COUNT_IN, 0))


def _between(closing: Bar, opening: Bar, bars: int, run: int) -> Iterator[Row]:
    """Yield what is counted between two rows of bars, so that the metre goes on unbroken.

    A last bar that ends early is filled up, then come ``bars`` whole bars, and the last of them
    ends where the next row begins: a phrase with an upbeat is always led to.
    """
    metre = closing.metre
    if closing.ends < metre.length:
        yield None, Bar(0, metre, (), closing.ends, metre.length), Role.BETWEEN, run
    fill = opening.begins
    counted = metre.length - closing.ends + fill
    short = bool(fill) and counted * 2 < opening.metre.length
    yield from _empty(opening, max(0, bars - bool(fill)) + short, fill, (Role.BETWEEN, run))


def _empty(opening: Bar, whole: int, fill: Fraction, which: tuple[Role, int]) -> Iterator[Row]:
    """Yield ``whole`` empty bars in the metre of ``opening``, then one that ends at ``fill``."""
    role, run = which
    metre = opening.metre
    for _ in range(whole):
        yield None, Bar(0, metre, (), Fraction(0), metre.length), role, run
    if fill:
        yield None, Bar(0, metre, (), Fraction(0), fill), role, run


def _goes_on(before: Bar, after: Bar) -> bool:
    """Tell whether ``after`` can follow ``before`` at once, in metre."""
    return before.ends % before.metre.length == after.begins


def _numbered(rows: Iterator[Row]) -> tuple[PlayedBar, ...]:
    """Return the rows as played bars, with quarter 0 at the passage's first whole bar."""
    at = Fraction(0)
    zero: Fraction | None = None
    seen: dict[int, int] = {}
    bars: list[PlayedBar] = []
    for index, bar, role, run in rows:
        repeat = 0
        if index is not None:
            if role is not Role.ANSWER:
                seen[index] = seen.get(index, 0) + 1
            repeat = seen[index]
            if zero is None:
                zero = at + (bar.length if bar.begins else 0)
        bars.append(PlayedBar(bar, index, at, role, run, repeat))
        at += bar.length
    return tuple(replace(played, start=played.start - (zero or 0)) for played in bars)


def _phrases(bars: tuple[PlayedBar, ...]) -> Iterator[tuple[int, int]]:
    """Yield (first, past-last) of each row of passage bars in which notes may be held on."""
    first = None
    for place, played in enumerate(bars):
        same = first is not None and (played.role, played.run) == (
            bars[place - 1].role,
            bars[place - 1].run,
        )
        if first is not None and not same:
            yield first, place
            first = None
        if first is None and played.index is not None:
            first = place
    if first is not None:
        yield first, len(bars)


def _cue_beside(passage: Passage, chunk: tuple[PlayedBar, ...]) -> tuple[Bar, ...]:
    if not passage.cue:
        return ()
    return unheld(tuple(passage.cue[played.index] for played in chunk if played.index is not None))


def _played(note: Note, bars: tuple[PlayedBar, ...], first: int, offset: Fraction) -> PlayedNote:
    place = first + note.index
    played = bars[place]
    return PlayedNote(note, place, offset + note.at, played.run, played.repeat, played.role)


def _tempo(passage: Passage, bars: tuple[PlayedBar, ...]) -> TempoMap:
    """Return the written tempo along the timeline; counted bars go at the tempo that follows."""
    written = speeds(passage)
    stretches: list[Stretch] = []
    following = _following(bars)
    for place, played in enumerate(bars):
        begun, last = written[following[place]]
        if played.index is None:
            last = begun
        if played.bar.pause and place and bars[place - 1].index is not None:
            beat = bars[place - 1].bar.metre.beats[-1].length
            stretches[-1:] = _paused(stretches[-1], beat)
        stretches.append(Stretch(played.start, played.stop, begun / 60, last / 60))
    return TempoMap(tuple(_merged(stretches)))


def _following(bars: tuple[PlayedBar, ...]) -> list[int]:
    """Return for each played bar the written bar that it is, or that its count leads to."""
    found: list[int] = []
    index = 0
    for played in reversed(bars):
        index = index if played.index is None else played.index
        found.append(index)
    return found[::-1]


def _paused(stretch: Stretch, beat: Fraction) -> tuple[Stretch, ...]:
    """Return the bar before a pause with its last beat lasting twice as long.

    Common practice, no source: a pause about doubles what it stands on.
    """
    turn = max(stretch.start, stretch.stop - beat)
    met = stretch.speed + stretch.slope * float(turn - stretch.start)
    held = Stretch(turn, stretch.stop, met / PAUSE_FACTOR, stretch.last_speed / PAUSE_FACTOR)
    if turn == stretch.start:
        return (held,)
    return replace(stretch, stop=turn, last_speed=met), held


def _merged(stretches: list[Stretch]) -> Iterator[Stretch]:
    """Yield ``stretches`` with neighbours of one steady tempo joined."""
    waiting: Stretch | None = None
    for part in stretches:
        speeds_met = {part.speed, part.last_speed}
        if waiting and {waiting.speed, waiting.last_speed} == speeds_met and len(speeds_met) == 1:
            waiting = replace(waiting, stop=part.stop)
            continue
        if waiting:
            yield waiting
        waiting = part
    if waiting:
        yield waiting
