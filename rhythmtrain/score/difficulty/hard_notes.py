"""What is hard about a single note: where it begins, and what it sounds through.

``rhythmtrain.score.difficulty.hard`` explains the troubles; here they are found and put into words.
"""

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum
from fractions import Fraction
from math import floor

from rhythmtrain.score.counts import beat_at, spoken_count
from rhythmtrain.score.metre import Beat
from rhythmtrain.score.passage import Bar, Note, bar_starts, notes_of


class Trouble(StrEnum):
    """What can be hard about one note."""

    OFF_BEAT = "starts off the beat"
    OVER_BEAT = "ties over the beat"
    OVER_BAR = "ties over the bar line"
    INSIDE_BEAT = "is held inside the beat"
    ACROSS = "three over two beats"


@dataclass(frozen=True, slots=True)
class Written:
    """Bars as written with where they begin, and their notes in order."""

    bars: tuple[Bar, ...]
    starts: tuple[Fraction, ...]
    notes: tuple[Note, ...]
    onsets: tuple[Fraction, ...]

    def nominal(self, index: int) -> Fraction:
        """Return where beat 1 of bar ``index`` lies, or would lie for an upbeat, in quarters."""
        return self.starts[index] - self.bars[index].begins

    def silent_from(self, at: Fraction, until: Fraction) -> bool:
        """Return True when nothing sounds at ``at`` and nothing begins from there to ``until``."""
        last = bisect_left(self.onsets, until) - 1
        return last < 0 or self.notes[last].at + self.notes[last].length <= at


@dataclass(frozen=True, slots=True)
class NoteTrouble:
    """The troubles of one note, the count it begins on as one says it, and a sentence."""

    index: int
    kinds: tuple[Trouble, ...]
    spoken: str
    words: str


def written(bars: tuple[Bar, ...]) -> Written:
    """Return ``bars`` with their starts and notes."""
    notes = notes_of(bars)
    return Written(bars, tuple(bar_starts(bars)), notes, tuple(note.at for note in notes))


def troubles(row: Written) -> Iterator[NoteTrouble]:
    """Yield the notes that are hard, in order."""
    for note in row.notes:
        bar, nominal = row.bars[note.index], row.nominal(note.index)
        place = note.at - nominal
        number = beat_at(bar.metre, place)
        beat = bar.metre.beats[number]
        said = spoken_count(bar.metre, place)
        spoken = f"beat {said}" if said.isdigit() else said
        if three_over_two(row, note, nominal + beat.start, beat):
            beats = f"beats {number + 1} and {number + 2}"
            yield NoteTrouble(
                note.index, (Trouble.ACROSS,), beats, f"three even notes over {beats}"
            )
            continue
        late = place > beat.start and row.silent_from(nominal + beat.start, note.at)
        held = _held(row, note, number, beat)
        kinds = (*((Trouble.OFF_BEAT,) if late else ()), *((held[0],) if held else ()))
        if not kinds:
            continue
        words = f"starts off the beat, on {spoken}" if late else spoken
        if held:
            words += f", and {held[1]}" if late else f" {held[1]}"
        yield NoteTrouble(note.index, kinds, spoken, words)


def _held(row: Written, note: Note, number: int, beat: Beat) -> tuple[Trouble, str] | None:
    """Return what the note sounds through that is stronger than where it began, and the words."""
    bar, nominal = row.bars[note.index], row.nominal(note.index)
    place, end = note.at - nominal, note.at - nominal + note.length
    after = beat.start + beat.length
    if end > bar.ends and not _fills_bars(row, note):
        return Trouble.OVER_BAR, "ties over the bar line"
    if place == beat.start or end > bar.ends:
        return None
    if after < bar.ends and end > after:
        return Trouble.OVER_BEAT, f"ties over beat {number + 2}"
    stronger = stronger_place(beat, (place - beat.start) / beat.length)
    if beat.compound and not _in_three(row, nominal + beat.start, beat.length):
        return None
    if stronger is not None and end > beat.start + stronger * beat.length:
        through = spoken_count(bar.metre, beat.start + stronger * beat.length)
        return Trouble.INSIDE_BEAT, f"is held over {through}"
    return None


def _in_three(row: Written, begin: Fraction, length: Fraction) -> bool:
    """Return True when a note begins on a third or sixth of the beat: so it is no duplet's."""
    first, last = (bisect_left(row.onsets, at) for at in (begin, begin + length))
    shares = [(at - begin) / length for at in row.onsets[first:last]]
    return any(share.denominator % 3 == 0 for share in shares)


def three_over_two(row: Written, note: Note, begin: Fraction, beat: Beat) -> bool:
    """Return True when ``note`` is the middle one of three even notes over two simple beats.

    ``begin`` is where its beat begins.
    """
    third = beat.length * 2 / 3
    if not beat.simple or note.at - begin != third or note.length != third:
        return False
    first = bisect_left(row.onsets, begin)
    around = row.notes[first : first + 3]
    return [(each.at - begin, each.length) for each in around] == [
        (third * place, third) for place in range(3)
    ]


def _fills_bars(row: Written, note: Note) -> bool:
    end = note.at + note.length
    return note.at == row.starts[note.index] and (
        end in row.starts[note.index :] or end == row.starts[-1] + row.bars[-1].length
    )


def stronger_place(beat: Beat, share: Fraction) -> Fraction | None:
    """Return the next place inside ``beat`` that is one level stronger than ``share`` of it.

    In a simple beat halves are stronger than quarters of it, in a compound one thirds than sixths;
    None where the beat has no such place or the next one is a beat.
    """
    parts = 6 if beat.compound else 2
    while (share * parts).denominator > 1 and parts < share.denominator:
        parts *= 2
    coarser = parts // 2
    if (share * parts).denominator > 1 or (share * coarser).denominator == 1:
        return None
    following = Fraction(floor(share * coarser) + 1, coarser)
    return following if following < 1 else None
