"""What a recording shows and where a person's marks let each beat be, as one lattice."""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.beats.beliefs import FULLEST
from rhythmtrain.notate.beats.lattice import Lattice, intervals_of, log_evidence
from rhythmtrain.notate.beats.marks import Mark, mark_factor, ranges
from rhythmtrain.notate.beats.phases import phase_worth

FRAMES_A_SECOND = 100
FRAMES_A_BEAT = 25
COARSEST = 3
# Where the tempo jumps at a section beats lie far from an even tempo: then the recording is plainly
# likelier with more room for them: by 4 to 26 on 11 of 12 development performances with a jump in
# the middle (seeds 710 to 715), by 0.1 at most on 12 without.
MORE_ROOM, ROOM_STEP_SD, PLAINLY_LIKELIER = 2.0, 0.08, 3.0

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Curves:
    """What the recording shows, 100 frames a second.

    ``onsets``, shape (n,), from 0 to 1.5; ``phases``, shape (7, n), the logarithm of how much more
    a frame looks like a place 0 … 6 twelfths of a beat from the nearer beat than frames do.
    """

    onsets: Floats
    phases: Floats

    @property
    def duration_s(self) -> float:
        """Return how long the curves are."""
        return (self.onsets.size - 1) / FRAMES_A_SECOND


def hop_for(mean_s: float) -> int:
    """Return how many frames of the curves are one of the lattice's, for beats of ``mean_s``."""
    return int(np.clip(round(mean_s * FRAMES_A_SECOND / FRAMES_A_BEAT), 1, COARSEST))


def marked_lattice(
    curves: Curves, marks: Sequence[Mark], count: int, scale: tuple[float, int]
) -> Lattice:
    """Return the lattice of ``count`` beats; ``scale`` is their mean length (s), and the hop.

    Raises:
        RequestError: the recording ends before the last beat.
    """
    mean_s, hop = scale
    frames = mean_s * FRAMES_A_SECOND / hop
    worth, first = phase_worth(curves.phases, intervals_of(frames), hop, believed=FULLEST)
    bare = Lattice(worth, first, (), (), frames, ROOM_STEP_SD)
    lasts = hop, curves.duration_s
    near = with_marks(bare, marks, count, lasts)
    far = with_marks(bare, marks, count, lasts, room=MORE_ROOM)
    if far.windows == near.windows:
        return near
    return far if log_evidence(far) > log_evidence(near) + PLAINLY_LIKELIER else near


def with_marks(
    bare: Lattice,
    marks: Sequence[Mark],
    count: int,
    lasts: tuple[int, float],
    *,
    room: float = 1.0,
) -> Lattice:
    """Return ``bare`` for ``count`` beats of which some are marked; ``lasts``: hop, and seconds.

    ``room`` is how far beats may lie from an even tempo, as in ``ranges``.

    Raises:
        RequestError: the recording ends before the last beat.
    """
    hop, duration_s = lasts
    frame_s = hop / FRAMES_A_SECOND
    bounds = ranges(marks, count, bare.mean * frame_s, duration_s, room=room)
    windows = tuple(
        (int(low / frame_s), min(int(high / frame_s) + 2, bare.first_worth.shape[1]))
        for low, high in bounds
    )
    if bounds[-1, 0] >= duration_s:
        raise RequestError(
            f"the recording lasts {duration_s:.1f} s and ends before the last of these bars: "
            "ask for fewer bars, or check the marks"
        )
    factors: list[Floats | None] = [None] * count
    for mark in marks:
        start, stop = windows[mark.beat]
        times: Floats = np.arange(start, stop, dtype=np.float64) * frame_s
        factors[mark.beat] = mark_factor(mark, times)
    return replace(bare, windows=windows, marks=tuple(factors))
