"""What ``rhythmtrain cue`` says: the words first, then the notes as a row of counts."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby
from typing import Any

from rhythmtrain.report.words import bar_in_words, bars_in_words, sentence, times
from rhythmtrain.score.entries import Entry
from rhythmtrain.score.passage import Note, Passage
from rhythmtrain.score.pitches import pitch_name, written_flat

CUE_LINE, NOTES, RECORDING = "cue line", "notes", "recording"
IN_YOUR_KEY = ", written as you would read it"
# What is said of where the notes are from.
FROM = {
    CUE_LINE: "from the cue line",
    NOTES: "from the accompanist's notes",
    RECORDING: "both hands together, as heard in the recording",
}


@dataclass(frozen=True, slots=True)
class CueFound:
    """The cue of ``entry``, which is at ``at`` quarters: its ``notes`` in order, from where, in words.

    ``earlier`` are bars before it to which the same cue leads.
    """

    passage: Passage
    entry: Entry
    at: Fraction
    notes: tuple[Note, ...]
    source: str
    words: str
    earlier: tuple[int, ...] = ()


def cue_text(found: CueFound) -> str:
    """Return the words, and a line of counts for every bar that has notes."""
    lines = [sentence(f"{bar_in_words(found.entry.bar)}: {found.words}")]
    if found.earlier:
        lines.append(earlier_in_words(found.earlier))
    if found.notes:
        bars = bars_in_words(note.bar for note in found.notes)
        pitched = any(note.pitches for note in found.notes)
        key = IN_YOUR_KEY if pitched and found.passage.written_up else ""
        lines.append(f"What is played in {bars}, {FROM[found.source]}{key}:")
    name = _naming(found)
    lines += [
        f"  {bar_in_words(bar):>8} | {_row(tuple(notes), name)}"
        for bar, notes in groupby(found.notes, key=lambda note: note.bar)
    ]
    return "\n".join(lines)


def earlier_in_words(bars: Iterable[int]) -> str:
    """Return the warning of a cue that leads to ``bars`` before it leads to the entry."""
    where = bars_in_words(bars)
    return (
        f"Earlier the same cue leads to {where}: count the bars, so that you follow the right one."
    )


def _row(notes: tuple[Note, ...], name: Callable[[int], str]) -> str:
    """Return the counts of a bar's notes, with the names of their pitches where they are known."""
    return "  ".join(f"{note.count} {'+'.join(map(name, note.pitches))}".strip() for note in notes)


def _naming(found: CueFound) -> Callable[[int], str]:
    """Return what the player calls a sounding pitch, in sharps or flats as tune and cue have them."""
    up = found.passage.written_up
    tune = (pitch for bar in found.passage.bars for place in bar.places for pitch in place.pitches)
    cue = (pitch for note in found.notes for pitch in note.pitches)
    flat = written_flat(pitch + up for pitch in (*tune, *cue))
    return lambda pitch: pitch_name(pitch + up, flat=flat)


def written(path: object, repeats: int) -> str:
    """Return what is said of the sound written to ``path``."""
    return f"Written to {path}: {times(repeats)} these bars, the entry clapped. Start quiet."


def cue_json(found: CueFound, path: str | None = None) -> dict[str, Any]:
    """Return the cue as a JSON document; ``onset`` and ``length`` are quarters as in ``show``.

    ``pitch`` is as it sounds, ``written`` as the player would read it.
    """
    up = found.passage.written_up
    return {
        "entry": {"bar": found.entry.bar, "count": found.entry.count},
        "words": found.words,
        "leads_earlier_to": list(found.earlier),
        "notes": [
            {
                "bar": note.bar,
                "count": note.count,
                "onset": str(note.at),
                "length": str(note.length),
                "pitch": max(note.pitches) if note.pitches else None,
                "written": max(note.pitches) + up if note.pitches else None,
            }
            for note in found.notes
        ],
        "from": found.source,
        "path": path,
    }
