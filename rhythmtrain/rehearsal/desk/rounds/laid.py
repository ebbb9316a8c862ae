"""A passage clapped over and over at the page, a counted bar between, until one stops.

Ten minutes of it would be too much for a browser to load, so three times through are made: it goes
on from the end of the second to its beginning, where every sample is followed by the one that
follows it in the whole.  The take is held against the whole, as it would be laid out for it.
"""

from dataclasses import dataclass, fields

import numpy as np

from rhythmtrain.devices.ports import Block
from rhythmtrain.rehearsal.clapping.rounds import Round, round_of
from rhythmtrain.rehearsal.clapping.wish import ClapWish, checked_source
from rhythmtrain.rehearsal.tracks.sound import RATE
from rhythmtrain.rehearsal.tracks.track import TrackWish
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import Timeline

MADE_TIMES = 3
# Then it is time to rest.
LONGEST_S = 600.0


@dataclass(frozen=True, slots=True)
class Loop:
    """What comes round: ``timeline`` of the times that are made, from which frame to which.

    A time through lasts a whole number of frames here: each moves the sound by a hundredth of a
    millisecond, at most, from where it is laid out.
    """

    timeline: Timeline
    start: int
    stop: int

    def unrolled(self, stem: Block, frames: int) -> Block:
        """Return ``frames`` of what sounds, from ``stem``, shape (n,), as it was made."""
        stem = np.pad(stem, (0, max(0, self.stop - len(stem))))
        once = stem[self.start : self.stop]
        rounds = max(0, -(-(frames - self.stop) // len(once)))
        return np.concatenate([stem[: self.stop], *([once] * rounds)])[:frames]


def laid_in_a_loop(wish: TrackWish, passage: Passage) -> tuple[Round, Round, Loop]:
    """Return the whole of a loop, the times of it that are made, and what of them comes round.

    Raises:
        RequestError: options that do not go with a loop.
        DrillError, FileError, TakeError: the passage or its recording does not read.
    """
    typed = {each.name: getattr(wish, each.name) for each in fields(TrackWish)}
    loop = ClapWish(**typed, loop=True)
    checked_source(loop)
    made = round_of(loop, passage, times=MADE_TIMES)
    start, stop = _between(made.timeline)
    many = max(MADE_TIMES, round(LONGEST_S * RATE / (stop - start)))
    return round_of(loop, passage, times=many), made, Loop(made.timeline, start, stop)


def _between(timeline: Timeline) -> tuple[int, int]:
    """Return the frames at which the second time through begins, and the third."""
    starts_s: dict[int, float] = {}
    for played in timeline.bars:
        if played.index is not None:
            starts_s.setdefault(played.run, float(timeline.track_seconds(played.start)))
    start = round(starts_s[2] * RATE)
    return start, start + round((starts_s[3] - starts_s[2]) * RATE)
