"""The cue before an entry: what the accompanist plays there, found, said in words."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.notes.cue_line import TOP, line_of, notes_before
from rhythmtrain.rehearsal.cueing.earlier import leads_earlier_to
from rhythmtrain.rehearsal.cueing.heard import heard_cue
from rhythmtrain.rehearsal.cueing.known import cue_part_beside, notes_beside, read_notes
from rhythmtrain.rehearsal.cueing.sound import has_recording, write_cue
from rhythmtrain.rehearsal.passages.passages import Wish, bar_range, whole_passage
from rhythmtrain.rehearsal.recorded.accompaniment import RecordingFiles
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.remedies import option, remedy
from rhythmtrain.report.passage.cue_text import (
    CUE_LINE,
    NOTES,
    RECORDING,
    CueFound,
    cue_json,
    cue_text,
    written,
)
from rhythmtrain.report.passage.cue_words import cue_words
from rhythmtrain.report.words import bars_in_words, count_in_words
from rhythmtrain.score.counts import count_name
from rhythmtrain.score.entries import Entry, entries_of
from rhythmtrain.score.passage import Note, Passage, bar_starts, notes_of

MOST_BARS_BEFORE = 2


@dataclass(frozen=True, slots=True)
class CueWish(Wish):
    """Which cue is wanted: options as typed."""

    entry: int | None = None
    bars_before: int = MOST_BARS_BEFORE
    notes: Path | None = None
    voice: str = TOP
    british: bool = False
    output: Path | None = None
    repeats: int = 4
    accompaniment: Path | None = None
    beats: Path | None = None

    @property
    def files(self) -> RecordingFiles:
        """Return the recording and the beat map that were given, if any."""
        return RecordingFiles(self.accompaniment, self.beats)


@dataclass(frozen=True, slots=True)
class Before:
    """The bars before an entry: ``note`` is the entry's; all else in quarters of the passage."""

    passage: Passage
    entry: Entry
    note: Note
    begin: Fraction

    @property
    def listened(self) -> Fraction:
        """Return from where on the player is silent and listens."""
        rest = self.note.at - self.entry.rest
        return max(rest, self.begin) if self.entry.rest else self.begin


def tell_cue(wish: CueWish) -> Told:
    """Return the cue that ``wish`` asks for, in words, as notes and as a document; write its sound.

    Raises:
        RequestError: no entry there, nothing known of what is played before it, or an option out
            of range.
        DrillError, FileError: a file does not read.
    """
    _check_sound(wish)
    said: list[str] = []
    before = _before(wish, said)
    found = _found(wish, before, said)
    if wish.output is None:
        return Told(cue_text(found), cue_json(found), warnings=tuple(said))
    write_cue(wish, found, before.begin, wish.output, wish.files)
    text = f"{cue_text(found)}\n{written(wish.output, wish.repeats)}"
    document = cue_json(found, str(wish.output))
    return Told(text, document, (wish.output,), tuple(said))


def _check_sound(wish: CueWish) -> None:
    """Refuse what belongs to a sound where none is written, and a beat map of nothing."""
    if wish.output is None and (wish.speed is not None or wish.tempo is not None):
        raise RequestError(
            f"{option('speed')} and {option('tempo')} are for the sound{remedy('where-it-goes')}"
        )
    if wish.beats is not None and not has_recording(wish.passage, wish.files):
        raise RequestError(
            f"{wish.beats} is the map of no recording: give {option('accompaniment')} too"
        )


def _before(wish: CueWish, said: list[str]) -> Before:
    """Return the entry asked for and where the bars before it begin."""
    if not 1 <= wish.bars_before <= MOST_BARS_BEFORE:
        raise RequestError(f"bars before must be 1 or 2, got {wish.bars_before}")
    passage = whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part, say=said.append)
    entry = _entry(wish, passage)
    note = notes_of(passage.bars)[entry.note]
    starts = bar_starts(passage.bars)
    first = note.index - wish.bars_before
    begin = starts[max(first, 0)] + min(first, 0) * passage.metre.length
    return Before(passage, entry, note, begin)


def _entry(wish: CueWish, passage: Passage) -> Entry:
    first, last = bar_range(wish.bars) if wish.bars is not None else (0, passage.bars[-1].number)
    entries = [each for each in entries_of(passage) if first <= each.bar <= last]
    if not entries:
        where = wish.passage if wish.bars is None else f"bars {wish.bars} of {wish.passage}"
        raise RequestError(
            f"{where} has no entry: there is no rest of a bar or more; mark a note in the drill with "
            "[[entry]], its bar and its count"
        )
    if wish.entry is None:
        return entries[0]
    for entry in entries:
        if entry.bar == wish.entry:
            return entry
    where = bars_in_words(each.bar for each in entries)
    raise RequestError(f"there is no entry in bar {wish.entry}: entries are in {where}")


def _found(wish: CueWish, before: Before, said: list[str]) -> CueFound:
    passage, entry, note = before.passage, before.entry, before.note
    source, notes = _notes(wish, before, said)
    metre = passage.bars[note.index].metre
    words = cue_words(
        [each for each in notes if each.at >= before.listened],
        note.at,
        place=count_in_words(passage, entry.bar, entry.count),
        beat=metre.beats[0].length,
        british=wish.british,
        ends_known=source != RECORDING,
    )
    earlier: tuple[int, ...] = ()
    if source != RECORDING:
        earlier = leads_earlier_to(passage, entry, name=wish.passage, notes=wish.notes)
    return CueFound(passage, entry, note.at, notes, source, words, earlier)


def _notes(wish: CueWish, before: Before, said: list[str]) -> tuple[str, tuple[Note, ...]]:
    """Return where the notes of the cue are from, and those notes."""
    score = cue_part_beside(wish)
    if wish.notes is None and score is not None:
        file, cued = score
        line = cued.line if wish.voice == TOP else wish.voice
        return NOTES, _written((file, cued.name, line), before, said)
    path = wish.notes or notes_beside(wish.passage)
    cue = before.passage.cue
    lined = tuple(
        note for note in (notes_of(cue) if cue else ()) if before.begin <= note.at < before.note.at
    )
    if wish.notes is None and (lined or (cue and path is None)):
        return CUE_LINE, lined
    if path is not None:
        return NOTES, _written((path, None, wish.voice), before, said)
    if has_recording(wish.passage, wish.files):
        return RECORDING, _heard(wish, before, said)
    raise RequestError(
        f"nothing is known of what is played before bar {before.entry.bar} of {wish.passage}: "
        f"{remedy('give-a-cue')}"
    )


def _written(
    named: tuple[Path, str | None, str], before: Before, said: list[str]
) -> tuple[Note, ...]:
    """Return the notes before the entry in a file, of one of its parts, of one line of that."""
    path, name, line = named
    part = read_notes(path, said.append, name)
    heard = notes_before(part, before.passage, before.entry.bar, before.begin, before.note.at)
    return tuple(
        _named(before.passage, at, length, pitches) for at, length, pitches in line_of(heard, line)
    )


def _heard(wish: CueWish, before: Before, said: list[str]) -> tuple[Note, ...]:
    passage = before.passage
    found, doubt = heard_cue(wish.passage, passage, before.entry, before.begin, wish.files)
    said.append(doubt)
    return tuple(_named(passage, at, length, ()) for at, length in found)


def _named(passage: Passage, at: Fraction, length: Fraction, pitches: tuple[int, ...]) -> Note:
    """Return a note at ``at`` quarters with its bar and count, also before the first bar."""
    starts = bar_starts(passage.bars)
    index = max((i for i, start in enumerate(starts) if start <= at), default=0)
    bar = passage.bars[index]
    nominal = starts[index] - bar.begins
    back = -((at - nominal) // bar.metre.length) if at < nominal else 0
    inside = at - nominal + back * bar.metre.length
    return Note(index, bar.number - back, count_name(bar.metre, inside), at, length, False, pitches)
