"""The last notes of the cue before an entry, in words: "three eighth notes going down, then you".

One listens for a figure and not for a bar, so the words name the last row of notes of one length,
which way it goes, and the note before it where the row is a single note.  The row is looked for within
the last bar's length of the rest; a note's length is the time to the next one, the last one's to where
it ends or the player comes in.
"""

from collections.abc import Sequence
from fractions import Fraction
from itertools import groupby, pairwise

from rhythmtrain.report.note_values import plural
from rhythmtrain.report.words import beats_in_words, number
from rhythmtrain.score.metre import value_name
from rhythmtrain.score.passage import Note

MOST_NOTES = 8
MOST_ROWS = 2
RISING, FALLING, LEVEL = " going up", " going down", " on one pitch"


def lead_in_words(
    cues: Sequence[Note], entry: Fraction, within: Fraction, *, british: bool = False
) -> str:
    """Return what is heard last before the player comes in at ``entry``, or "" where nothing is.

    ``cues`` are the notes of the cue in the rest, in order; ``within`` is how far back one listens, in
    quarters.
    """
    heard = _last_heard(cues, entry, within, british=british)
    return f"{heard}, then you" if heard else ""


def cue_words(
    cues: Sequence[Note],
    entry: Fraction,
    *,
    place: str,
    beat: Fraction,
    british: bool = False,
) -> str:
    """Return the cue and where one comes in: "two eighth notes going up; you come in on beat 2".

    ``cues`` are what is listened to, in order; ``place`` is the entry's count as a sentence says it;
    ``beat`` is the length of one in the entry's bar, in quarters.  Silence of a beat or more just before the entry
    is told.
    """
    inside = [note for note in cues if note.at < entry]
    coming = f"you come in on {place}"
    if not inside:
        return f"nothing is heard before: count the rest; {coming}"
    within = entry - inside[0].at
    silent = entry - inside[-1].at - inside[-1].length
    heard = _last_heard(inside, entry, within, british=british)
    if silent >= beat:
        heard += f", then {beats_in_words(float(silent / beat))} of silence"
    return f"{heard}; {coming}"


def _last_heard(cues: Sequence[Note], entry: Fraction, within: Fraction, *, british: bool) -> str:
    """Return the last row of notes, with the one before where it is a single note, or ""."""
    near = [note for note in cues if entry - within <= note.at < entry][-MOST_NOTES:]
    if not near:
        return ""
    ends = [*(late.at for late in near[1:]), min(near[-1].at + near[-1].length, entry)]
    timed = [(note, end - note.at) for note, end in zip(near, ends, strict=True)]
    rows = [[note for note, _ in row] for _, row in groupby(timed, key=lambda each: each[1])]
    lengths = [length for length, _ in groupby(length for _, length in timed)]
    last = [_row(row, length, british=british) for row, length in zip(rows, lengths, strict=True)]
    wanted = 1 if len(rows[-1]) > 1 else MOST_ROWS
    return ", ".join(last[-wanted:])


def _row(notes: Sequence[Note], length: Fraction, *, british: bool) -> str:
    """Return a row of notes of one length: "three eighth notes going down"."""
    several = len(notes) > 1
    name = value_name(length, british=british)
    if name is None:
        named = "notes" if several else "note"
    elif british:
        named = plural(name) if several else name
    else:
        named = f"{name} note{'s' * several}"
    return f"{number(len(notes))} {named}{_way(notes)}"


def _way(notes: Sequence[Note]) -> str:
    """Return which way the highest pitches of a row go, or "" where neither or unknown."""
    if len(notes) == 1 or not all(note.pitches for note in notes):
        return ""
    steps = [max(late.pitches) - max(early.pitches) for early, late in pairwise(notes)]
    if all(step > 0 for step in steps):
        return RISING
    if all(step < 0 for step in steps):
        return FALLING
    return LEVEL if not any(steps) else ""
