"""One try, judged: every note against the player's own habit (see ``habits``)."""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.judging.habits import habits_s
from rhythmtrain.assess.judging.verdicts import Judged, judge, lost_rows
from rhythmtrain.assess.matching.rendition import Rendition
from rhythmtrain.assess.tolerance import line_s, recorded_line_s, widened
from rhythmtrain.assess.written import Written
from rhythmtrain.timing.timeline import Timeline

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]
Bools = NDArray[np.bool_]

FEWEST_NOTES, MOSTLY, MOST_OF_THE_TAKE = 12, 0.90, 0.5
# A clap is hidden by what begins within 30 ms of it, and comes up to 30 ms from where it is due.
HIDDEN_NEAR_S = 0.06


@dataclass(frozen=True, slots=True)
class Manner:
    """What the player had to go by, and how finely it was heard.

    ``clicked`` says that something kept time, ``recorded`` that it was a recording;
    ``uncertainty_s`` is the standard error of an onset; ``hidden_s`` when an onset may have gone
    unheard.
    """

    clicked: bool
    recorded: bool = False
    uncertainty_s: float = 0.0
    hidden_s: tuple[float, ...] = ()


@dataclass(frozen=True, slots=True)
class Judging:
    """The timeline, its written notes, how they were played, and the verdicts.

    ``lost`` gives (first, past-last) of the rows of notes in which the player was lost; ``clicked``
    says that something kept time.
    """

    timeline: Timeline
    written: Written
    played_s: Floats
    rendition: Rendition
    judged: Judged
    lost: tuple[tuple[int, int], ...]
    clicked: bool

    @property
    def speed(self) -> float:
        """Return how much faster the take is than the timeline."""
        return self.written.speed

    @property
    def expected_s(self) -> Floats:
        """Return the second of the take at which each note was expected."""
        return self.written.times_s + self.rendition.base_s

    @property
    def offsets_s(self) -> Floats:
        """Return played minus expected for each note, NaN where it was not played."""
        return _offsets_s(self.written, self.played_s, self.rendition)

    @property
    def own_s(self) -> Floats:
        """Return the offsets without the shifts of whole phrases, NaN where not played."""
        return self.offsets_s - self.rendition.shift_s


def plainly_played(judging: Judging) -> bool:
    """Return whether so many of the notes tried came in their place that they can be no other passage.

    Of a dozen claps or more nearly all, with few too many, lie where honest players put them.
    """
    heard = np.isfinite(judging.judged.away_s)
    right = int(np.sum(heard & ~judging.judged.plain))
    tried = int(np.sum(judging.rendition.part >= 0)) + len(judging.rendition.extras)
    least = max(MOSTLY * tried, MOST_OF_THE_TAKE * len(judging.played_s))
    return int(heard.sum()) >= FEWEST_NOTES and right >= least


def judged_try(
    timeline: Timeline,
    written: Written,
    played_s: Floats,
    rendition: Rendition,
    manner: Manner,
) -> Judging:
    """Return the try with a verdict on every note."""
    own = _offsets_s(written, played_s, rendition) - rendition.shift_s
    checked = rendition.part >= 0
    checked &= ~_hidden(own, written, rendition, manner)
    lost = lost_rows(np.isfinite(own), checked)
    for first, stop in lost:
        checked[first:stop] = False
        own[first:stop] = np.nan
    away = own - habits_s(own, written, rendition, clicked=manner.clicked)
    window, outer = lines_s(written, manner)
    places = _places(timeline, written)
    judged = judge(away, checked, places, window_s=window, outer_s=outer)
    return Judging(timeline, written, played_s, rendition, judged, lost, manner.clicked)


def _hidden(own: Floats, written: Written, rendition: Rendition, manner: Manner) -> Bools:
    """Return True for notes without a clap whose clap may have gone unheard."""
    missed = np.isnan(own)
    if not manner.hidden_s or missed.all():
        return np.zeros(len(own), dtype=np.bool_)
    due_s = written.times_s + rendition.base_s + rendition.shift_s + np.nanmedian(own)
    near = np.abs(due_s[:, None] - np.array(manner.hidden_s)).min(axis=1) <= HIDDEN_NEAR_S
    unheard: Bools = missed & near
    return unheard


def lines_s(written: Written, manner: Manner) -> tuple[Floats, Floats]:
    """Return how far from the habit 95 and 99 of 100 honest notes stay."""
    unsure = np.hypot(manner.uncertainty_s, written.unsure_s)
    window, outer = line_s(written.beat_s, 95), line_s(written.beat_s, 99)
    if manner.recorded:
        wider = np.maximum(1.0, recorded_line_s(written.beat_s, written.on_beat) / window)
        window, outer = window * wider, outer * wider
    return widened(window, 95, unsure), widened(outer, 99, unsure)


def _offsets_s(written: Written, played_s: Floats, rendition: Rendition) -> Floats:
    clap = rendition.clap
    late = played_s[np.maximum(clap, 0)] - written.times_s - rendition.base_s
    return np.where(clap >= 0, late, np.nan)


def _places(timeline: Timeline, written: Written) -> Ints:
    """Return a number for every note, equal for notes that repeat each other."""
    seen: dict[tuple[int | None, str], int] = {}
    return np.array(
        [
            seen.setdefault(
                (
                    timeline.bars[timeline.notes[index].place].index,
                    timeline.notes[index].note.count,
                ),
                len(seen),
            )
            for index in written.index.tolist()
        ],
        dtype=np.intp,
    )
