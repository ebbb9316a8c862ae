"""The seconds of all beats, from what the recording shows and what a person says of it.

One engine for every way of helping: taps on the first bars and a mark at the end, a mark every few
bars, a tap on every beat.  Marks and the recording's evidence meet in ``lattice``; each beat
is read from its posterior (``decoding``); how freely the tempo moves and how far the recording
is to be believed is found from both (``beliefs``).  How sure a beat is, is read from a second,
more careful posterior (``doubts``).  Nothing is ever filled in linearly: between marks four bars
apart a straight line is wrong by 70 to 150 ms on real accompanists.

Without any help no map is made: on expressive playing, guessing by sound alone is more often wrong
than right, and a miscount looks sure of itself.
"""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.beats.asking import unsure_bars
from rhythmtrain.notate.beats.bar_counts import Miscount, miscounts
from rhythmtrain.notate.beats.beliefs import believed_lattices
from rhythmtrain.notate.beats.decoding import SolvedBeat, decode, going_forward, onset_peaks
from rhythmtrain.notate.beats.doubts import doubted, wary_posteriors
from rhythmtrain.notate.beats.lattice import posteriors
from rhythmtrain.notate.beats.marked_lattice import FRAMES_A_SECOND, Curves, hop_for, marked_lattice
from rhythmtrain.notate.beats.marks import Mark, in_order, mean_interval
from rhythmtrain.notate.beats.tapping import agreeing, tap_bias, tap_marks, unlagged
from rhythmtrain.remedies import remedy

MOST_BEATS = 20_000
BLIND = (
    "nothing says where the bars are, and by sound alone that cannot be told: tap the first two "
    f"bars and mark the last{remedy('by-taps')}, or mark some downbeats{remedy('by-value', 'at', '1=2.41')}"
)

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Solved:
    """Every beat in order, the bars (0 is the first) to be heard first, and the taps' bias.

    ``unsure_bars`` begin with those to hear first (``asking``).  ``bias_s`` is how late the taps are;
    ``miscounts`` are stretches that seem to hold another number of bars.
    """

    beats: tuple[SolvedBeat, ...]
    unsure_bars: tuple[int, ...]
    bias_s: float | None = None
    miscounts: tuple[Miscount, ...] = ()


def solve_beats(
    curves: Curves,
    *,
    beats_a_bar: int,
    count: int,
    anchors: Sequence[tuple[int, float]] = (),
    taps: Sequence[tuple[int, float]] = (),
    beat_hint_s: float | None = None,
) -> Solved:
    """Return when each of ``count`` beats falls; ``anchors`` and ``taps`` are (beat, second).

    ``beat_hint_s`` is the rough length of a beat: needed only with a single mark.

    Raises:
        RequestError: no help at all, or marks that cannot be.
    """
    if not anchors and not taps:
        raise RequestError(BLIND)
    if not 1 <= count <= MOST_BEATS:
        raise RequestError(f"a map has 1 to {MOST_BEATS} beats, got {count}")
    bias = tap_bias([time for _, time in taps], curves.onsets, FRAMES_A_SECOND) if taps else None
    unbiased = [(beat, max(time - (bias or 0.0), 0.0)) for beat, time in taps]
    kept = [(beat, time) for beat, time in agreeing(unbiased, anchors) if 0 <= beat < count]
    tapped = tap_marks(kept) if kept else ()
    fixed = tuple(Mark(beat, time) for beat, time in anchors)
    in_order(fixed + tapped, curves.duration_s, count)
    beats = _solved(curves, fixed + tapped, count, beat_hint_s)
    if tapped:
        better = unlagged(tapped, np.array([beat.time_s for beat in beats]))
        if better != tapped:
            beats = _solved(curves, fixed + better, count, beat_hint_s)
    doubtful = miscounts(curves, fixed + tapped, beats_a_bar)
    return Solved(beats, unsure_bars(beats, beats_a_bar), bias, doubtful)


def _solved(
    curves: Curves, marks: Sequence[Mark], count: int, hint_s: float | None
) -> tuple[SolvedBeat, ...]:
    ordered = sorted(marks, key=lambda mark: mark.beat)
    mean_s = mean_interval(ordered, hint_s)
    hop = hop_for(mean_s)
    frame_s = hop / FRAMES_A_SECOND
    bare = marked_lattice(curves, ordered, count, (mean_s, hop))
    believed, wary = believed_lattices(bare, curves.phases, hop)
    found, doubting = posteriors(believed)[0], wary_posteriors(wary)
    peaks_s, _ = onset_peaks(curves.onsets, FRAMES_A_SECOND)
    beats = [decode(each, frame_s, peaks_s) for each in found]
    both = zip(beats, doubting, strict=True)
    return going_forward([doubted(beat, other, frame_s) for beat, other in both])
