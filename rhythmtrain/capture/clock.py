"""From the computer's clock to track time: a line through (frame, time) pairs of a sound stream.

A driver says now and then that it asked for frame f when the clock showed t.  A busy machine says
so late, by tenths of a millisecond mostly and by 9 ms now and then, and hardly ever early (only
while a stream fills its first buffers).  So stamps are taken in groups, each group keeps one point
low in its cloud, and a straight line is laid through the points, without those that stand far from
it.  Its slope is the quartz of the sound card: it is drawn towards the nominal rate as strongly as
its scatter asks (ridge with a prior of ``QUARTZ`` about the nominal rate), because a take of five
seconds tells a quartz no better than 100 ppm.  Where sound was lost, or stood still though nobody
told of it (``standstill``), the line may jump: the slope stays, a new level begins.  (Minimum
filters for clocks: Mills, RFC 5905, section 10; one-sided delays: Moon, Skelly and Towsley 1999.)

The zero of track time is frame 0.  What lies between a stamp and the ear, a constant, belongs to
the sound delay and not to this line.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.capture.standstill import steps
from rhythmtrain.errors import TakeError

GROUP = 48
LOW = 0.1
QUARTZ = 50e-6
FAR = 4.0
LEAST_SCATTER_S = 2e-5
PASSES = 4
MOST = 0.95
TO_SD = 1.4826

Numbers = NDArray[np.float64]
Which = NDArray[np.int_]


@dataclass(frozen=True, slots=True)
class Piece:
    """A stretch without loss: from frame ``first`` on, track frame 0 would fall at ``zero_s``."""

    first: int
    zero_s: float


@dataclass(frozen=True, slots=True)
class ClockModel:
    """Which track time it was when the clock showed a time.

    ``frame_s`` is how long a frame lasted by the clock; ``error_s`` how far the line may be from
    the truth (p95), where nothing was lost.  ``stood_s`` are spans of track time, in seconds, in
    each of which the sound stood still or leapt although nobody told of it: what seems to lie there
    may lie elsewhere.
    """

    rate: int
    frame_s: float
    pieces: tuple[Piece, ...]
    error_s: float
    stood_s: tuple[tuple[float, float], ...] = ()

    @property
    def drift_ppm(self) -> float:
        """Return by how many millionths the stream ran faster than its nominal rate."""
        return (1.0 / (self.rate * self.frame_s) - 1.0) * 1e6

    def track_seconds(self, clock_s: float) -> float:
        """Return the track time, seconds from frame 0, when the clock showed ``clock_s``."""
        frame = (clock_s - self.pieces[0].zero_s) / self.frame_s
        for piece in self.pieces[1:]:
            later = (clock_s - piece.zero_s) / self.frame_s
            frame = later if later >= piece.first else min(frame, piece.first)
        return frame / self.rate

    def clock_seconds(self, track_s: float) -> float:
        """Return what the clock showed at track time ``track_s``."""
        frame = track_s * self.rate
        reached = [piece for piece in self.pieces if piece.first <= frame] or [self.pieces[0]]
        return reached[-1].zero_s + frame * self.frame_s


class ClockLine:
    """Gathers stamps and lays the line; an hour of stamps needs as much memory as its points."""

    def __init__(self, rate: int) -> None:
        """Begin without stamps, for a stream of ``rate`` frames a second."""
        self._rate = rate
        self._firsts = [0]
        self._points: list[tuple[int, int, float]] = []
        self._group: list[tuple[int, float]] = []

    def add(self, frame: int, time_s: float) -> None:
        """Take a stamp: ``frame`` was asked for when the clock showed ``time_s``, or just before.

        Frames come in order.
        """
        self._group.append((frame, time_s))
        if len(self._group) == GROUP:
            self._keep_group()

    def lost(self, frame: int) -> None:
        """Let the line jump at ``frame``, where sound was lost."""
        self._keep_group()
        self._firsts.append(frame)

    def model(self) -> ClockModel:
        """Return the line through all stamps so far.

        Raises:
            TakeError: fewer than two stamps.
        """
        points = [*self._points, *self._group_point()]
        alone_s = self._spread_s() if len(points) == 1 else 0.0
        if len(points) < 1 or (len(points) == 1 and len(self._group) == 1):
            raise TakeError(
                "the sound stopped before its clock could be read: try again, "
                "and let the track play for a second at least"
            )
        return _line(self._rate, self._firsts, np.array(points, dtype=np.float64), alone_s)

    def _spread_s(self) -> float:
        """Return how far one point alone may be off: the spread of the stamps it stands for."""
        early = [time_s - frame / self._rate for frame, time_s in self._group]
        return max(early) - min(early) if early else 0.0

    def _keep_group(self) -> None:
        self._points += self._group_point()
        self._group.clear()

    def _group_point(self) -> list[tuple[int, int, float]]:
        """Return (piece, frame, time) of the group: one stamp low in the cloud, or nothing."""
        if not self._group:
            return []
        early = [time_s - frame / self._rate for frame, time_s in self._group]
        order = sorted(range(len(early)), key=early.__getitem__)
        frame, time_s = self._group[order[int(len(early) * LOW)]]
        return [(len(self._firsts) - 1, frame, time_s)]


def _line(rate: int, firsts: list[int], points: Numbers, alone_s: float) -> ClockModel:
    """Return the model through ``points``, rows of (piece, frame, time)."""
    firsts, points, stood = _parted(rate, firsts, points)
    places, piece = np.unique(points[:, 0].astype(int), return_inverse=True)
    frame, begin_s = points[:, 1], float(points[0, 2])
    late = points[:, 2] - begin_s - frame / rate
    kept = np.ones(len(late), dtype=bool)
    slope, scatter = 0.0, LEAST_SCATTER_S
    levels, rest = np.zeros(len(places)), late
    for _ in range(PASSES):
        slope = _slope(piece, frame, late, kept=kept, prior=scatter * rate / QUARTZ)
        levels = _levels(piece, late - slope * frame, kept)
        rest = np.abs(late - slope * frame - levels[piece])
        scatter = max(TO_SD * float(np.median(rest)), LEAST_SCATTER_S)
        kept = rest <= FAR * scatter
    pieces = (Piece(firsts[at], begin_s + float(levels[k])) for k, at in enumerate(places))
    error_s = max(float(np.quantile(rest[kept], MOST)), alone_s, LEAST_SCATTER_S)
    return ClockModel(rate, 1.0 / rate + slope, tuple(pieces), error_s, stood)


def _parted(
    rate: int, firsts: list[int], points: Numbers
) -> tuple[list[int], Numbers, tuple[tuple[float, float], ...]]:
    """Return first frames and points with a piece of their own after every standstill, and where."""
    begun, parted = list[int](), list[Numbers]()
    stood: list[tuple[float, float]] = []
    for each in np.unique(points[:, 0]).astype(int).tolist():
        mine = points[points[:, 0] == each]
        frame = mine[:, 1]
        found = steps(mine[:, 2] - frame / rate)
        stood += [(float(frame[a]) / rate, float(frame[b]) / rate) for a, b in found]
        cuts = [first for _, first in found]
        for begin, rows in zip([0, *cuts], np.split(mine, cuts), strict=True):
            rows[:, 0] = len(begun)
            parted.append(rows)
            begun.append(int(frame[begin]) if begin else firsts[each])
    return begun, np.concatenate(parted), tuple(stood)


def _slope(
    piece: Which, frame: Numbers, late: Numbers, *, kept: NDArray[np.bool_], prior: float
) -> float:
    """Return seconds a frame beyond the nominal, from all pieces together."""
    across, along = 0.0, prior**2
    for each in range(int(piece.max()) + 1):
        mine = kept & (piece == each)
        if mine.any():
            x = frame[mine] - frame[mine].mean()
            across += float(x @ late[mine])
            along += float(x @ x)
    return across / along


def _levels(piece: Which, level: Numbers, kept: NDArray[np.bool_]) -> Numbers:
    """Return the median of every piece: of what was kept, or of all where nothing was."""
    medians = []
    for each in range(int(piece.max()) + 1):
        mine = piece == each
        good = mine & kept
        medians.append(float(np.median(level[good if good.any() else mine])))
    return np.array(medians)
