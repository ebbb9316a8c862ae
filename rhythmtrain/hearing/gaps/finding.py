"""Where and by how much a track jumps in a recording: sound that was lost on the way.

A driver says in which turn it lost sound, but not how much; a microphone in the room knows.  The delay of the track before and after a place tells by how much all is later or earlier
there (``delay``).  Nobody need have said anything: along the whole recording the delay is looked at
window by window, and where it leaves its line for another, the same is asked.

To the sample it is told by the room: with the response heard before the place (``bleed``), the
bleed after it is predicted and laid where it fits best, and the place is where one prediction
begins to fit better than the other.  Where the track is not heard at all, as with headphones, only
the count of frames is left, and what comes afterwards is known less finely.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from rhythmtrain.hearing.bleed.correlation import LATEST_S, Sound
from rhythmtrain.hearing.bleed.delay import SHORT, SoundDelay, measured_delay
from rhythmtrain.hearing.gaps.gaps import Gap, mended
from rhythmtrain.hearing.gaps.lags_along import lags_along
from rhythmtrain.hearing.gaps.place import placed

COMPARED_S, LEAST_S = 12.0, 3.0
LEAST_JUMP_S = 0.001
NEAR_S = 0.03
MIDDLE_S = LATEST_S / 2
SUSPECT_S = 1.25


@dataclass(frozen=True, slots=True)
class Hint:
    """Sound is said to be lost between frames ``first`` and ``stop`` of a recording.

    ``error_s`` is how far all may be moved from there on where nothing tells by how much; ``said``
    is False of a place at which it only looks so; ``many`` of several places close together.
    """

    first: int
    stop: int
    error_s: float = 0.005
    said: bool = True
    many: bool = False


def found_gaps(
    heard: Sound, track: Sound, rate: int, hints: Sequence[Hint] = ()
) -> tuple[Gap, ...]:
    """Return where ``heard``, shape (n,), lost sound while ``track``, shape (m,), was played.

    Both begin at the same frame.  Besides those that ``hints`` name, gaps are found that are heard.
    """
    gaps: list[Gap] = []
    sound, moved = heard, 0
    near = round(NEAR_S * rate)
    told = [replace(each, first=each.first - near, stop=each.stop + near) for each in hints]
    asked = _together([*told, *_suspects(heard, track, rate)], round(LEAST_S * rate))
    for number, hint in enumerate(asked):
        ends = asked[number + 1].first if number + 1 < len(asked) else len(heard)
        here = replace(hint, first=max(hint.first - moved, 0), stop=hint.stop - moved)
        gap = _gap(_Sounds(sound, track, rate), here, ends - moved)
        if gap is None:
            continue
        gaps.append(replace(gap, first=gap.first + moved, at=gap.at + moved, stop=gap.stop + moved))
        sound = mended(sound, (gap,), rate).sound
        moved += gap.late
    return tuple(gaps)


@dataclass(frozen=True, slots=True, eq=False)
class _Sounds:
    """A recording, and the track that was played meanwhile."""

    heard: Sound
    track: Sound
    rate: int


def _gap(sounds: _Sounds, hint: Hint, ends: int) -> Gap | None:
    """Return the gap at ``hint``, which is followed by sound up to ``ends``; None where none is.

    Where the track was heard before and nothing tells where it is afterwards, all is unknown.
    """
    rate = sounds.rate
    begin = max(0, hint.first - round(COMPARED_S * rate))
    before = _delay(sounds, begin, hint.first, 0.0)
    if before.refused:
        middle = (hint.first + hint.stop) // 2
        return Gap(hint.first, middle, hint.stop, 0, hint.error_s) if hint.said else None
    before_s = before.delay_s + before.skew_ppm * 1e-6 * (hint.stop - begin) / rate
    soon = min(ends, hint.stop + round(COMPARED_S * rate))
    after = _delay(sounds, hint.stop, soon, before_s)
    if after.refused:
        return Gap(hint.first, hint.stop, max(ends, hint.stop)) if hint.said else None
    jump_s = after.delay_s - before_s
    if not hint.said and abs(jump_s) < LEAST_JUMP_S:
        return None
    cut = Gap(hint.first, hint.stop, hint.stop, round(jump_s * rate))
    found = placed(cut, sounds.heard, sounds.track, rate, before=before, begin=begin)
    return replace(cut, late=found.late) if hint.many else found


def _delay(sounds: _Sounds, first: int, stop: int, expected_s: float) -> SoundDelay:
    """Return how late the track is from frame ``first`` to ``stop``, half a second about a delay."""
    rate = sounds.rate
    later = round((MIDDLE_S - expected_s) * rate) if expected_s else 0
    heard = _from(sounds.heard[: max(stop, 0)], first - later)
    track = sounds.track[first : max(stop, first)]
    if min(stop - first, len(track)) < LEAST_S * rate:
        return SoundDelay(0.0, LATEST_S, 0.0, refused=SHORT)
    found = measured_delay(heard, track, rate)
    return replace(found, delay_s=found.delay_s - later / rate)


def _from(sound: Sound, first: int) -> Sound:
    """Return ``sound`` from frame ``first`` on, with silence before its frame 0."""
    return sound[first:] if first >= 0 else np.concatenate([np.zeros(-first, np.float32), sound])


def _suspects(heard: Sound, track: Sound, rate: int) -> list[Hint]:
    """Return where the delay seems to leave its line for another."""
    whole = measured_delay(heard, track, rate)
    later = round((MIDDLE_S - whole.delay_s) * rate)
    steps = [
        (time_s, lag_s - whole.skew_ppm * 1e-6 * time_s)
        for time_s, lag_s in lags_along(heard, track, rate, later=later)
    ]
    found = []
    for (_, one), (begin_s, last), (end_s, after), (_, other) in zip(
        steps, steps[1:], steps[2:], steps[3:], strict=False
    ):
        steady = abs(one - last) < LEAST_JUMP_S and abs(after - other) < LEAST_JUMP_S
        if steady and abs(after - last) > LEAST_JUMP_S:
            first_s, stop_s = begin_s - SUSPECT_S, end_s + SUSPECT_S
            found.append(Hint(round(first_s * rate), round(stop_s * rate), said=False))
    return found


def _together(asked: Sequence[Hint], apart: int) -> list[Hint]:
    """Return ``asked`` in order; those that lie in one another are one.

    So are those that are said and no more than ``apart`` samples apart: between them nothing tells
    the delay.
    """
    joined: list[Hint] = []
    for hint in sorted(asked, key=lambda each: (each.first, each.stop)):
        last = joined[-1] if joined else None
        if last is None or hint.first > last.stop + (apart if hint.said and last.said else 0):
            joined.append(hint)
        elif not hint.said:
            continue
        elif not last.said:
            joined[-1] = hint
        else:
            error_s = float(np.hypot(last.error_s, hint.error_s))
            many = last.many or hint.first > last.stop
            joined[-1] = Hint(last.first, max(last.stop, hint.stop), error_s, many=many)
    return joined
