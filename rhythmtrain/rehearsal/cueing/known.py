"""What is known of where the accompanist plays, for a passage that has no cue line of its own.

It comes from the accompanist's notes, given or named by the drill, or else, near the entries that went
amiss, from the strokes in the recording.  Only who came in after the wrong cue needs it, so a recording
is heard for that alone.
"""

from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path

from rhythmtrain.assess.wrong_cue import RATHER, SURE, searched
from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.notate.notes.cue_line import line_by_bar
from rhythmtrain.notate.notes.written_part import WrittenPart
from rhythmtrain.rehearsal.cueing.heard import coarse_at, parts_of, struck_in
from rhythmtrain.rehearsal.passages.from_scores import Say
from rhythmtrain.rehearsal.passages.passages import Wish
from rhythmtrain.rehearsal.recorded.accompaniment import MappedRecording
from rhythmtrain.rehearsal.recorded.notes import READERS
from rhythmtrain.remedies import option
from rhythmtrain.score.cue_part import CuePart, cue_part_of
from rhythmtrain.storage.drills import beside, drill_path, load_drill
from rhythmtrain.storage.scores import is_score
from rhythmtrain.timing.beside_recording import placed_bars
from rhythmtrain.timing.timeline import PlayedBar, PlayedEntry, Timeline

Strokes = dict[Fraction, float]
# A bar of which nothing is known has so many strokes that may be none: it is like no other.
UNKNOWN, EVEN = 4, 0.5
# Strokes less likely than this are none.
LEAST = 0.001


def notes_beside(name: str) -> Path | None:
    """Return the accompanist's notes that the drill called ``name`` has beside it, or None."""
    if is_score(name):
        return None
    named = load_drill(name).accompaniment
    if named is None or named.notes is None:
        return None
    return beside(drill_path(name), named.notes)


def cue_part_beside(wish: Wish) -> tuple[Path, CuePart] | None:
    """Return the score that ``wish`` names, or its drill does, and whose line of it is the cue.

    None where no part is named, or where it is no file that tells of all its notes (ABC has one line).
    """
    path, named = Path(wish.passage), wish.cue_part
    if not is_score(wish.passage):
        score = load_drill(wish.passage).score
        if score is None:
            return None
        path, named = beside(drill_path(wish.passage), score.score), named or score.cue_part
    if named is None or path.suffix.lower() not in READERS:
        return None
    return path, cue_part_of(named)


def read_notes(path: Path, say: Say, part: str | None = None) -> WrittenPart:
    """Return the accompanist's part in the file at ``path``; ``say`` is given what did not fit.

    Raises:
        RequestError: no such kind of file.
        FileError: the file does not read.
    """
    read = READERS.get(path.suffix.lower())
    if read is None:
        raise RequestError(
            f"{option('notes')} must be MusicXML or MIDI ({', '.join(READERS)}), got {path}"
        )
    written, doubts = read(path, part)
    for doubt in doubts:
        say(doubt)
    return written


def part_known(
    name: str, given: Path | None, say: Say, *, beside_too: bool = True
) -> WrittenPart | None:
    """Return the accompanist's notes: those ``given``, else those beside the drill; None without.

    Raises:
        RequestError: no such kind of file.
        FileError: the file does not read.
    """
    path = given or (notes_beside(name) if beside_too else None)
    return None if path is None else read_notes(path, say)


def with_notes(timeline: Timeline, name: str, given: Path | None, say: Say) -> Timeline:
    """Return ``timeline`` with what the notes know: those ``given``, else those beside the drill.

    Without notes, or with a cue line where none are given, it is as it was.

    Raises:
        RequestError: notes of no bar of the passage, or in another metre.
        FileError: the file does not read.
    """
    part = part_known(name, given, say, beside_too=not timeline.cues)
    if part is None:
        return timeline
    known = with_part(timeline, part)
    if given is not None and known is timeline:
        numbers = [bar.number for bar in part.bars]
        raise RequestError(
            f"{given.name} has bars {min(numbers)} to {max(numbers)} and nothing in the bars of the "
            "passage: are they the notes of this piece?"
        )
    return known


def with_part(timeline: Timeline, part: WrittenPart) -> Timeline:
    """Return ``timeline`` with the strokes of ``part``; as it was where they have none of its bars."""
    strokes = dict(_written(timeline, part))
    heard = any(chance > RATHER for chance in strokes.values())
    return _with(timeline, strokes) if heard else timeline


def with_nothing(timeline: Timeline) -> Timeline:
    """Return ``timeline`` as one in which nobody accompanies: it is known that nothing is struck."""
    return _with(timeline, {timeline.start: 0.0})


def _written(timeline: Timeline, part: WrittenPart) -> Iterator[tuple[Fraction, float]]:
    """Yield every stroke of the notes; a bar that they lack is unsure."""
    lines = line_by_bar(part)
    lengths = {bar.number: bar.metre.length for bar in part.bars}
    for bar in timeline.bars:
        if bar.index is None:
            continue
        number = bar.bar.number
        if lengths.get(number) != bar.bar.metre.length:
            yield from _unknown(bar)
            continue
        for inside in lines[number]:
            if bar.bar.begins <= inside < bar.bar.ends:
                yield bar.nominal + inside, SURE


def with_strokes(
    timeline: Timeline, found: MappedRecording, entries: Iterable[PlayedEntry]
) -> Timeline:
    """Return ``timeline`` with what is struck in the recording around ``entries``.

    Raises:
        FileError: the recording does not read.
    """
    strokes: Strokes = {}
    for entry in entries:
        strokes |= _heard(timeline, found, *searched(timeline, entry))
    return _with(timeline, strokes)


def _heard(timeline: Timeline, found: MappedRecording, low: Fraction, high: Fraction) -> Strokes:
    """Return the strokes from ``low`` to ``high``; what is not mapped is unsure, silence has none."""
    strokes: Strokes = {}
    asked: list[tuple[Fraction, Fraction]] = []
    for bar, later in placed_bars(timeline, found.mapped):
        if bar.stop <= low or bar.start >= high:
            continue
        if later is None:
            strokes |= _unknown(bar)
            continue
        coarse = coarse_at(found, bar.start - later)
        for inside in parts_of(bar.bar, coarse=coarse):
            at = bar.nominal + inside
            if found.mapped.covers(at - later):
                asked.append((at, at - later))
            else:
                strokes[at] = EVEN
    if not asked:
        return strokes
    try:
        answer = struck_in(found, [found.mapped.second(recorded) for _, recorded in asked])
    except TakeError:
        return strokes
    rows = zip(asked, answer.chances, strict=True)
    return strokes | {at: round(chance, 3) for (at, _), chance in rows if chance >= LEAST}


def _unknown(bar: PlayedBar) -> Iterator[tuple[Fraction, float]]:
    """Yield so many unsure strokes of a bar that it is like no other."""
    for number in range(UNKNOWN):
        yield bar.start + bar.bar.length * number / UNKNOWN, EVEN


def _with(timeline: Timeline, strokes: Strokes) -> Timeline:
    return replace(timeline, strokes=tuple(sorted(strokes.items())))
