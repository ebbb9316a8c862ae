"""The timeline: a passage laid out in the order it is practised, every note with its time.

Quarter 0 is the start of the first whole bar of the passage, and what comes before (count-in,
upbeat) is negative.
"""

from bisect import bisect_left
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.score.entries import Entry, find_entries
from rhythmtrain.score.excerpt import unheld
from rhythmtrain.score.passage import Bar, Note, Passage, notes_of
from rhythmtrain.timing.playing_order import PlayedBar, Practice, Role, playing_order
from rhythmtrain.timing.tempomap import TempoMap
from rhythmtrain.timing.written_tempo import tempo_along
from rhythmtrain.units import Seconds

__all__ = ["PlayedBar", "PlayedEntry", "PlayedNote", "Practice", "Role", "Timeline", "lay_out"]


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
    """A passage laid out for practice, with the tempo map that gives every place its time.

    ``doubts`` are (place, standard error in seconds) of beats whose times are known only so well,
    in order; none where the times are made and not heard.  ``strokes`` are (place, chance) at which the
    accompanist may play, in order, where that is known otherwise than from the passage's own cue.
    """

    passage: Passage
    practice: Practice
    bars: tuple[PlayedBar, ...]
    notes: tuple[PlayedNote, ...]
    cues: tuple[PlayedNote, ...]
    entries: tuple[PlayedEntry, ...]
    tempo: TempoMap
    doubts: tuple[tuple[Fraction, float], ...] = ()
    strokes: tuple[tuple[Fraction, float], ...] = ()

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

    def uncertainty_s(self, at: Fraction) -> float:
        """Return the standard error, in seconds, of when ``at`` falls: of the doubtful beats beside."""
        if not self.doubts:
            return 0.0
        after = bisect_left(self.doubts, (at, 0.0))
        if after < len(self.doubts) and self.doubts[after][0] == at:
            return self.doubts[after][1]
        return max(unsure for _, unsure in self.doubts[max(after - 1, 0) : after + 1])

    def track_seconds(self, at: Fraction) -> Seconds:
        """Return when ``at`` falls in track time, in seconds from the start of the timeline."""
        return Seconds(self.tempo.seconds(at) - self.tempo.seconds(self.start))


def lay_out(passage: Passage, practice: Practice | None = None) -> Timeline:
    """Return ``passage`` laid out in playing order.

    Raises:
        RequestError: a speed that is not more than 0, or too many bars with all the repeats.
        DrillError: too many bars as played once.
    """
    practice = practice or Practice()
    bars = playing_order(passage, practice)
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
    tempo = tempo_along(passage, bars).faster(practice.speed)
    return Timeline(passage, practice, bars, tuple(notes), tuple(cues), heard, tempo)


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
