"""Plain sentences about the take as a whole: stops, tries, getting lost, what cannot be told."""

import numpy as np

from rhythmtrain.assess.entry_words import class_words
from rhythmtrain.assess.findings import BY_START, FEW_NOTES, THIN_NOTES, Try
from rhythmtrain.assess.judging.judging import Judging

BY_PLAYING = "where bar 1 begins was found from the playing, so"
FOUND = f"{BY_PLAYING} a steady earliness or lateness cannot be told"
NUMBERED = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")


def remarks_on(
    judging: Judging, tries: tuple[Try, ...], shown: int, *, given: bool
) -> tuple[str, ...]:
    """Return the sentences, without full stops, the most important first."""
    return (
        *_shift(judging),
        *_tries(tries, shown),
        *_breaks(judging),
        *_lost(judging),
        *_unfinished(judging, tries[shown]),
        *_unsure(judging, given=given),
    )


def _bar(judging: Judging, note: int) -> int:
    return judging.timeline.notes[int(judging.written.index[note])].note.bar


def _shift(judging: Judging) -> tuple[str, ...]:
    beats = judging.rendition.shift_beats
    if beats is None:
        return ()
    first = judging.rendition.parts[0].first
    a_bar = float(judging.written.bar_s[first] / judging.written.beat_s[first])
    if beats % 0.5:
        side = "late" if beats > 0 else "early"
        return (f"everything came about {abs(beats):.1f} beats {side}",)
    return (f"everything came {class_words(beats, a_bar)}",)


def _tries(tries: tuple[Try, ...], shown: int) -> tuple[str, ...]:
    if len(tries) == 1:
        return ()
    count = NUMBERED[len(tries)] if len(tries) < len(NUMBERED) else str(len(tries))
    told = tries[shown]
    which = f"this is about number {shown + 1}, bars {told.from_bar} to {told.to_bar}"
    return (f"{count} tries were heard; {which}",)


def _breaks(judging: Judging) -> tuple[str, ...]:
    said = []
    for stop in judging.rendition.breaks:
        last, following = _bar(judging, stop.last_note), _bar(judging, stop.next_note)
        if stop.beats:
            a_bar = float(
                judging.written.bar_s[stop.next_note] / judging.written.beat_s[stop.next_note]
            )
            said.append(f"from bar {following} on everything came {class_words(stop.beats, a_bar)}")
        elif stop.beats is None and stop.next_note > stop.last_note:
            said.append(f"stopped in bar {last}, went on in bar {following}")
        elif stop.beats is None:
            said.append(f"stopped in bar {last}, began again at bar {following}")
    return tuple(said)


def _lost(judging: Judging) -> tuple[str, ...]:
    said = []
    for first, stop in judging.lost:
        lost = _bar(judging, first)
        if stop < len(judging.written.index) and judging.rendition.part[stop] >= 0:
            said.append(f"lost in bar {lost}, back in at bar {_bar(judging, stop)}")
        else:
            said.append(f"lost in bar {lost}, and not back in")
    return tuple(said)


def _unfinished(judging: Judging, told: Try) -> tuple[str, ...]:
    """Return where the player stopped before the end, when that was not already said."""
    played = np.flatnonzero(judging.rendition.part >= 0)
    last = int(played[-1])
    if told.complete or last >= len(judging.written.index) - 1:
        return ()
    return (f"stopped in bar {_bar(judging, last)}, before the end",)


def found_by(bar: int) -> str:
    """Return what cannot be told where the start was found by the entry in ``bar``."""
    return (
        f"{BY_PLAYING} neither a steady earliness or lateness nor how you came in in bar {bar} can be "
        f"told: {BY_START}"
    )


def _unsure(judging: Judging, *, given: bool) -> tuple[str, ...]:
    said = []
    if not given:
        first = int(judging.written.index[judging.rendition.parts[0].first])
        entries = {entry.note for entry in judging.timeline.entries}
        said.append(found_by(judging.timeline.notes[first].note.bar) if first in entries else FOUND)
    if int(np.sum(judging.rendition.clap >= 0)) < THIN_NOTES:
        said.append(FEW_NOTES)
    return tuple(said)
