"""The last notes of the cue before an entry, in words: "three eighth notes going down, then you".

One listens for a figure and not for a bar, so the words name the last row of notes of one length,
which way it goes, and the note before it where the row is a single note.  A note is called by the time
to the next one, the last by its own length: where the player comes in while it still sounds, or
long after it, that is told.  What was only heard in a recording has no known end: there the last
note counts to the row before it.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import groupby, pairwise

from rhythmtrain.report.passage.note_values import TUPLETS, plural
from rhythmtrain.report.words import beats_in_words, number
from rhythmtrain.score.metre import value_name
from rhythmtrain.score.passage import Note

MOST_NOTES = 8
MOST_ROWS = 2
LONG = Fraction(4)
# A step of so many semitones, a fourth, is a leap to the ear.
LEAP = 5
RISING, FALLING, LEVEL = " going up", " going down", " on one pitch"
LEAPS = {True: " leaping up", False: " leaping down"}
TURNS = {True: " going up and down again", False: " going down and up again"}
HIGHER, LOWER, SAME = " higher up", " lower down", " on the same pitch"


@dataclass(frozen=True, slots=True)
class _Figure:
    """What is heard last: its words, row by row; when its last note begins and how long that is."""

    rows: tuple[str, ...]
    begins: Fraction
    length: Fraction


def lead_in_words(
    cues: Sequence[Note], entry: Fraction, within: Fraction, *, british: bool = False
) -> str:
    """Return what is heard last before the player comes in at ``entry``, or "" where nothing is.

    ``cues`` are the notes of the cue in the rest, in order; ``within`` is how far back one listens, in
    quarters.
    """
    near = [note for note in cues if entry - within <= note.at < entry][-MOST_NOTES:]
    if not near:
        return ""
    figure = _figure(near, near[-1].length, british=british)
    still = " before it ends" if figure.begins + figure.length > entry else ""
    return f"{', '.join(figure.rows)}, then you{still}"


def cue_words(
    cues: Sequence[Note],
    entry: Fraction,
    *,
    place: str,
    beat: Fraction,
    british: bool = False,
    ends_known: bool = True,
) -> str:
    """Return the cue and where one comes in: "two eighth notes going up; you come in on beat 2".

    ``cues`` are what is listened to, in order; ``place`` is the entry's count as a sentence says it;
    ``beat`` is the length of one in the entry's bar, in quarters.  Silence of a beat or more just
    before the entry is told, and an entry before the last note's end.  ``ends_known`` is False where
    nobody knows how long the last note sounds.
    """
    inside = [note for note in cues if note.at < entry]
    coming = f"you come in on {place}"
    if not inside:
        return f"nothing is heard before: count the rest; {coming}"
    near = inside[-MOST_NOTES:]
    gap = entry - near[-1].at
    length = near[-1].length
    if not ends_known:
        length = near[-1].at - near[-2].at if len(near) > 1 else gap
    heard = ", then ".join(_figure(near, length, british=british).rows)
    if gap < length or (gap > length and not ends_known):
        return f"{heard}; {coming}, {_after(gap, beat, british=british)} the last note begins"
    if gap - length >= beat:
        heard += f", then {_silence(gap - length, beat)} of silence"
    return f"{heard}; {coming}"


def _after(gap: Fraction, beat: Fraction, *, british: bool) -> str:
    """Return how long after something: "half a beat after", "one eighth note after"."""
    if not 2 * gap % beat:
        return f"{beats_in_words(float(gap / beat))} after"
    name = _named(gap, british=british)
    return f"one {name} after" if name else "after"


def _silence(silent: Fraction, beat: Fraction) -> str:
    if not 2 * silent % beat:
        return beats_in_words(float(silent / beat))
    return f"more than {beats_in_words(silent // beat)}"


def _figure(near: Sequence[Note], length: Fraction, *, british: bool) -> _Figure:
    """Return the last row of ``near``, with the one before where it is a single note."""
    last = near[-1]
    ends = [*(late.at - early.at for early, late in pairwise(near)), length]
    rows = [
        ([note for note, _ in row], each)
        for each, row in groupby(zip(near, ends, strict=True), key=lambda one: one[1])
    ]
    told = [_row(row, each, british=british) for row, each in rows]
    if len(rows) > 1 and len(rows[-1][0]) == 1:
        told[-1] += _beside(near[-2], last)
    wanted = 1 if len(rows[-1][0]) > 1 else MOST_ROWS
    return _Figure(tuple(told[-wanted:]), last.at, length)


def _row(notes: Sequence[Note], length: Fraction, *, british: bool) -> str:
    """Return a row of notes of one length: "three eighth notes going down"."""
    several = len(notes) > 1
    name = _named(length, british=british)
    if name is None:
        kind = "long note" if length > LONG else "note"
        name = f"{kind}{'s' * several}"
    elif several:
        name = plural(name)
    return f"{number(len(notes))} {name}{_way(notes)}"


def _named(length: Fraction, *, british: bool) -> str | None:
    """Return the name of a note so long: "eighth note", "triplet quaver"; None where it has none."""
    notes, time = TUPLETS["triplet"]
    for kind, whole in (("", length), ("triplet ", length * notes / time)):
        name = value_name(whole, british=british)
        if name is not None:
            return f"{kind}{name}" if british else f"{kind}{name} note"
    return None


def _way(notes: Sequence[Note]) -> str:
    """Return which way the highest pitches of a row go, or "" where no way or unknown."""
    if len(notes) == 1 or not all(note.pitches for note in notes):
        return ""
    steps = [max(late.pitches) - max(early.pitches) for early, late in pairwise(notes)]
    if not any(steps):
        return LEVEL
    if len(steps) == 1 and abs(steps[0]) >= LEAP:
        return LEAPS[steps[0] > 0]
    ways = [up for up, _ in groupby(step > 0 for step in steps)]
    if not all(steps) or len(ways) > len(TURNS):
        return ""
    if len(ways) == 1:
        return RISING if ways[0] else FALLING
    return TURNS[ways[0]]


def _beside(before: Note, note: Note) -> str:
    """Return where a single note lies beside the one before, or "" where that is unknown."""
    if not (before.pitches and note.pitches):
        return ""
    step = max(note.pitches) - max(before.pitches)
    if not step:
        return SAME
    return HIGHER if step > 0 else LOWER
