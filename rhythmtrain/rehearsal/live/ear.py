"""What the eye is shown of a microphone while the track plays: where claps fell, some 50 ms ago.

Where the loudspeaker is heard too, its own onsets would be shown as claps.  The track is known, so
once the way from loudspeaker to microphone is known as well, from an earlier take or from the first
seconds of this one, the loudspeaker is taken out, and what stands clear of its leftovers is shown,
on a click as anywhere.  Like claps of one player it must not be far softer than the others.

Until then, and where the loudspeaker cannot be taken out, only what is louder than the loudspeaker
can be just then is shown: with headphones that is every clap, beside a loudspeaker those on a click
may stay unseen.  The take itself is heard afterwards, with what came later.

What takes longer than a block lasts is learned by others meanwhile, and used a fixed while of sound
later, so that a take is shown the same whoever is quick; they are waited for where they are slower.
"""

from collections import deque
from collections.abc import Callable
from concurrent.futures import Future

import numpy as np

from rhythmtrain.devices.ports import Block
from rhythmtrain.hearing.live.bleed import Job, LiveBleed
from rhythmtrain.hearing.live.learning import Learned
from rhythmtrain.hearing.live.level import LiveLevels
from rhythmtrain.hearing.live.onsets import LiveOnset, LiveOnsets
from rhythmtrain.hearing.live.way import Way
from rhythmtrain.rehearsal.live.beside import Ear

# What a silent player gives is louder than this by 3 dB twice in twelve half minutes beside a
# loudspeaker (the half "tune" of tests/simulate/rooms.py).
LOUDER_DB = 4.0
SETTLED_S = 0.1
# Over what is left of the loudspeaker.  Leftovers alone reach 18 dB; beside claps hardly anything of
# them passes the detector (the half "tune" of tests/simulate/rooms.py, tests/simulate/live_table.py).
PLAYER_DB, CLEAR_DB = 20.0, 3.0
SOFTER_DB = 14.0
LAST_CLAPS = 16
USED_AFTER_S = 1.0

Found = Learned | None
Work = Callable[[Job], Future[Found]]


def at_once(job: Job) -> Future[Found]:
    """Do a job here and now."""
    done: Future[Found] = Future()
    done.set_result(job())
    return done


class LiveEar:
    """Hears a recording that begins with frame 0 of the track, block by block."""

    def __init__(
        self,
        rate: int,
        ear: Ear,
        track: list[Block],
        *,
        delay_s: float,
        way: Way | None = None,
        work: Work = at_once,
    ) -> None:
        """Listen for what ``ear`` says; ``track`` grows by what was handed to the loudspeaker.

        ``delay_s`` is how much later the track is heard; ``way`` what an earlier take taught of
        loudspeaker and room.  ``work`` does what takes longer than a block lasts.
        """
        self._rate = rate
        self._delay_s = delay_s
        self._recording = LiveOnsets(rate, kind=ear.kind, aloud=ear.aloud)
        self._levels = LiveLevels(rate, delay_s)
        self._bleed = LiveBleed(rate, way if way is not None and way.rate == rate else None)
        self._work = work
        self._learning: Future[Found] | None = None
        self._due = 0
        self._track = track
        self._read = self._frames = 0
        self._clear_from_s = np.inf
        self._claps_db: deque[float] = deque(maxlen=LAST_CLAPS)

    @property
    def way(self) -> Way | None:
        """Return the way from loudspeaker to microphone as it was learned, for the next take."""
        return self._bleed.way

    def __call__(self, recorded: Block) -> tuple[float, ...]:
        """Return when in the track the claps fell that became known with ``recorded``."""
        for block in self._track[self._read :]:
            self._bleed.play(block)
            self._levels.play(block)
        self._read = len(self._track)
        self._levels.hear(recorded)
        found = self._recording.feed(recorded, self._taken_out(recorded))
        self._frames += len(recorded)
        shown = [each for each in found if self._is_players(each)]
        self._learn()
        return tuple(self._track_s(each.time_s) for each in shown)

    def _track_s(self, time_s: float) -> float:
        """Return which second of the track is heard at ``time_s``, as well as that is known."""
        if self.way is None:
            return time_s - self._delay_s
        return (time_s - self.way.delay_s) / (1 + self.way.skew_ppm * 1e-6)

    def _taken_out(self, recorded: Block) -> Block | None:
        """Return the loudspeaker's part of ``recorded``, as far as it is known."""
        bleed = self._bleed.hear(recorded)
        if bleed is None:
            self._clear_from_s = np.inf
        else:
            self._clear_from_s = min(self._clear_from_s, self._frames / self._rate + SETTLED_S)
        return bleed

    def _learn(self) -> None:
        """Take what was learned since, when it is due, and let more be learned."""
        if self._learning is not None:
            if self._frames < self._due:
                return
            self._bleed.learn(self._learning.result())
            self._learning = None
        job = self._bleed.job()
        if job is not None:
            self._learning = self._work(job)
            self._due = self._frames + round(USED_AFTER_S * self._rate)

    def _is_players(self, onset: LiveOnset) -> bool:
        """Return whether ``onset`` is surely none of the loudspeaker's."""
        if onset.time_s < self._clear_from_s:
            return onset.level_db > self._levels.most_db(onset.time_s) + LOUDER_DB
        if onset.over_db >= PLAYER_DB:
            self._claps_db.append(onset.level_db)
        elif not self._claps_db:
            return False
        softest_db = float(np.median(self._claps_db)) - SOFTER_DB
        return onset.over_db >= CLEAR_DB and onset.level_db >= softest_db
