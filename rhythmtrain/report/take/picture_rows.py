"""What stands in the picture of a take, before it is drawn: rows of bars, counts, marks.

A row is a bar as written, or bars of rest together.  A mark stands where a note was heard, seen
from the player's own habit and from where its phrase came in, so an even player's marks stand
right under the notes.  A phrase that came in a beat out is said in words under its row, not drawn a
beat away.
"""

from bisect import bisect_right
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from rhythmtrain.assess.findings import Findings, NoteFinding, Verdict
from rhythmtrain.report.take.flags import LITTLE, away_s, entries_amiss
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.words import how_often, number
from rhythmtrain.score.counts import beat_at, count_name
from rhythmtrain.score.passage import Bar, Kind, Place, notes_of
from rhythmtrain.timing.timeline import PlayedBar, Timeline

INK, PALE = "#000000", "#5f5f5f"
EARLY_COLOUR, LATE_COLOUR, EXTRA_COLOUR = "#0072B2", "#B34700", "#7B3F8C"
ONE_TOO_MANY = "too many"
# The last syllable of the sixteenths of a compound beat, as the count line writes them.
LAST_SYLLABLE = "ta"


@dataclass(frozen=True, slots=True)
class Mark:
    """How a verdict is drawn: its shape, colour, size in points, and the word in the key."""

    shape: str
    colour: str
    size: float
    word: str
    filled: bool = True


MARKS: dict[Verdict | str, Mark] = {
    Verdict.IN_TIME: Mark("o", PALE, 3.2, "in time or near"),
    Verdict.EARLY: Mark("<", EARLY_COLOUR, 5.5, "early"),
    Verdict.LATE: Mark(">", LATE_COLOUR, 5.5, "late"),
    Verdict.MISSED: Mark("o", INK, 5.5, "not heard", filled=False),
    ONE_TOO_MANY: Mark("x", EXTRA_COLOUR, 4.5, ONE_TOO_MANY, filled=False),
}


@dataclass(frozen=True, slots=True)
class Row:
    """One line of the picture: a bar with its notes, or bars of rest from ``bar`` to ``last``.

    ``index`` is the place of ``bar`` in the passage, ``last`` the number of the last bar, and
    ``bars`` how many there are.
    """

    index: int
    bar: Bar
    last: int
    rest: bool
    bars: int = 1

    @property
    def name(self) -> str:
        """Return the number at the edge: "6", "3-10"; an upbeat has none."""
        if not self.bar.number:
            return ""
        first = str(self.bar.number)
        return first if self.last == self.bar.number else f"{first}-{self.last}"


@dataclass(frozen=True, slots=True)
class Spot:
    """A mark in the lane of a bar.

    ``index`` is the bar's place in the passage, ``at`` quarters from where its beat 1 lies,
    ``repeat`` which time it was played.
    """

    index: int
    at: float
    repeat: int
    mark: Mark


def rows_of(bars: tuple[Bar, ...]) -> tuple[Row, ...]:
    """Return the lines of the picture, bars of rest in a row as one."""
    sounding = {note.index for note in notes_of(bars)}
    rows: list[Row] = []
    for index, bar in enumerate(bars):
        rest = index not in sounding and all(place.kind is not Kind.HELD for place in bar.places)
        if rest and rows and rows[-1].rest:
            before = rows[-1]
            rows[-1] = replace(before, last=bar.number, bars=before.bars + 1)
        else:
            rows.append(Row(index, bar, bar.number, rest))
    return tuple(rows)


def spots_of(findings: Findings, timeline: Timeline) -> tuple[Spot, ...]:
    """Return every mark of the lanes: notes heard or missing, and what was too many."""
    spots = (_spot(findings, note, timeline) for note in findings.notes)
    return (*(spot for spot in spots if spot is not None), *_extras(findings, timeline))


def came_words(heard: Heard, timeline: Timeline) -> dict[int, tuple[str, str]]:
    """Return, by the index of a bar, the shape and words for an entry that came at another count."""
    found: dict[int, tuple[str, str]] = {}
    repeats = timeline.practice.repeats
    for entry in entries_amiss(heard.findings):
        if entry.verdict in (*LITTLE, Verdict.MISSED):
            continue
        often = how_often((entry.repeat,), repeats)
        words = f"came in {entry.verdict}" if entry.offset_s is not None else str(entry.verdict)
        shape = "" if entry.offset_s is None else "◀" if entry.offset_s < 0 else "▶"
        for index, bar in enumerate(timeline.passage.bars):
            if bar.number == entry.bar and index not in found:
                found[index] = (shape, f"{words} {often}".strip())
    return found


def label_of(bar: Bar, place: Place) -> str:
    """Return a count as it stands over the notes: as one says it in a row, "1 e [&] a 2".

    The number is left out where the beat itself is counted before it in the same bar.
    """
    name = count_name(bar.metre, place.at)
    beat = beat_at(bar.metre, place.at)
    inside = name.removeprefix(str(beat + 1))
    counted = any(other.at == bar.metre.beats[beat].start for other in bar.places)
    if inside and counted:
        name = LAST_SYLLABLE if inside.endswith(LAST_SYLLABLE) else inside
    return {Kind.SILENT: f"({name})", Kind.HELD: f"[{name}]"}.get(place.kind, name)


def _spot(findings: Findings, note: NoteFinding, timeline: Timeline) -> Spot | None:
    played = timeline.notes[note.note]
    bar = timeline.bars[played.place]
    if note.verdict is Verdict.NOT_CHECKED or bar.index is None:
        return None
    away = away_s(findings, note)
    at = float(played.at)
    if away is not None:
        at = timeline.tempo.quarters(timeline.seconds(played.at) + away)
    plain = note.verdict is Verdict.MISSED or note.plain
    mark = MARKS[note.verdict if plain else Verdict.IN_TIME]
    return Spot(bar.index, at - float(bar.nominal), note.repeat, mark)


def _extras(findings: Findings, timeline: Timeline) -> Iterator[Spot]:
    """Yield what was too many, placed by the note expected nearest to it."""
    known = sorted((note.expected_s, note.note) for note in findings.notes)
    starts = [bar.start for bar in timeline.bars]
    for extra in findings.extras:
        expected_s, index = min(known, key=lambda pair: abs(pair[0] - extra.time_s))
        near = timeline.seconds(timeline.notes[index].at)
        at = timeline.tempo.quarters(near + extra.time_s - expected_s)
        bar = _bar_at(timeline, starts, at)
        if bar is not None and bar.index is not None:
            yield Spot(bar.index, at - float(bar.nominal), bar.repeat, MARKS[ONE_TOO_MANY])


def _bar_at(timeline: Timeline, starts: list[Fraction], at: float) -> PlayedBar | None:
    place = bisect_right(starts, at) - 1
    inside = place >= 0 and at < timeline.bars[place].stop
    return timeline.bars[place] if inside else None


def rest_words(row: Row) -> str:
    """Return what stands in a row of rest."""
    return "rest" if row.bars == 1 else f"{number(row.bars)} bars of rest"
