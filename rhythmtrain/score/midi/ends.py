"""Until when the notes of a MIDI file are written to sound.

Players and programs end notes a little early, so a note that sounds for most of the way to the
next is held until it; a shorter one ends where a program wrote it, and that of a player on the nearest
sixteenth or triplet.  Percussion has no length that means anything: a stroke lasts until the next, and
the last as long as the one before it, a quarter at most.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from itertools import pairwise, zip_longest

from rhythmtrain.score.midi.clock import MidiClock
from rhythmtrain.score.midi.parts import MidiPart
from rhythmtrain.score.midi.places import nearest, on_grid

# A note that sounds for this share of the way to the next is printed as reaching it.
HELD_FROM = Fraction(3, 4)


@dataclass(frozen=True, slots=True)
class PartNote:
    """A note (or chord) of a part: where it is written, until where it sounds, its pitches."""

    at: Fraction
    end: Fraction
    pitches: tuple[int, ...]


def part_notes(part: MidiPart, places: Sequence[Fraction], clock: MidiClock) -> list[PartNote]:
    """Return the notes in order, chords as one, each until it is written to end."""
    chords: dict[Fraction, list[int]] = {}
    ends: dict[Fraction, Fraction] = {}
    played: set[Fraction] = set()
    tick = clock.tick_quarters(part.notes[0].tick)
    for note, at in zip(part.notes, places, strict=True):
        chords.setdefault(at, []).append(note.key)
        end = clock.quarter(note.end_tick) + at - clock.quarter(note.tick)
        ends[at] = max(end, ends.get(at, end))
        if on_grid(clock.quarter(note.tick), tick) != at:
            played.add(at)
    onsets = sorted(chords)
    rows = []
    last = min([Fraction(1), *(late - early for early, late in pairwise(onsets[-2:]))])
    for at, following in zip_longest(onsets, onsets[1:]):
        if part.percussion:
            rows.append(PartNote(at, following or at + last, ()))
            continue
        written = None if at in played else on_grid(ends[at], tick)
        end = _end(at, ends[at], following, written)
        rows.append(PartNote(at, end, tuple(sorted(set(chords[at])))))
    return rows


def _end(
    at: Fraction, end: Fraction, following: Fraction | None, written: Fraction | None
) -> Fraction:
    """Return where a note is written to end; whoever plays lets none go on a thirty-second."""
    if following is not None and (end >= following or end - at >= HELD_FROM * (following - at)):
        return following
    parts = _parts_around(at, following)
    place = nearest(end, (parts,)) if written is None else written
    if place <= at:
        place = at + Fraction(1, parts)
    return place if following is None else min(place, following)


def _parts_around(at: Fraction, following: Fraction | None) -> int:
    """Return into how many parts a quarter goes where a note ends: four, or three beside triplets."""
    edges = [at] if following is None else [at, following]
    triplets = any((3 * edge).denominator == 1 < edge.denominator for edge in edges)
    return 3 if triplets else 4
