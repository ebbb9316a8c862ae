"""How long notes sound that a foot holds.

What is let go while the pedal is down sounds until it comes up (MIDI 1.0, controller 64), or until its
key is struck again.  That is how long it was *played*; how it is written the fingers tell better, so
only takes ask for it.
"""

from bisect import bisect_right
from collections import defaultdict
from collections.abc import Iterable
from dataclasses import replace

from rhythmtrain.score.midi.file import MidiNote, MidiTrack


def as_sounded(notes: Iterable[MidiNote], tracks: Iterable[MidiTrack]) -> tuple[MidiNote, ...]:
    """Return ``notes`` in their order, each as long as it sounds; ``tracks`` share their time.

    A pedal that never comes up says nothing: these notes stay as long as the key was held.
    """
    moves: defaultdict[int, list[tuple[int, bool]]] = defaultdict(list)
    for tick, channel, down in sorted(move for track in tracks for move in track.pedal):
        moves[channel].append((tick, down))
    asked = tuple(notes)
    strikes: defaultdict[tuple[int, int], list[int]] = defaultdict(list)
    for tick, channel, key in sorted((note.tick, note.channel, note.key) for note in asked):
        strikes[channel, key].append(tick)
    return tuple(
        replace(note, end_tick=_end(note, moves[note.channel], strikes[note.channel, note.key]))
        for note in asked
    )


def _end(note: MidiNote, moves: list[tuple[int, bool]], strikes: list[int]) -> int:
    """Return the tick at which ``note`` no longer sounds."""
    before = bisect_right(moves, (note.end_tick, False))
    if not before or not moves[before - 1][1]:
        return note.end_tick
    up = next((tick for tick, down in moves[before:] if not down), note.end_tick)
    again = bisect_right(strikes, note.tick)
    return min([up, *strikes[again : again + 1]])
