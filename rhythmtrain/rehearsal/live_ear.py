"""What the eye is shown of a microphone while the track plays: where claps fell, some 50 ms ago.

Where the loudspeaker is heard too, its own onsets would be shown as claps.  The track is known, so
once the way from loudspeaker to microphone is known as well, from an earlier take or from the first
seconds of this one, the loudspeaker is taken out, and what stands clear of its leftovers is shown,
on a click as anywhere.  Like claps of one player it must not be far softer than the others.

Until then, what comes together with an onset of the track is shown only if it is clearly louder
than what the microphone usually gives of such an onset: with headphones that is every clap, beside
a loudspeaker those on a click may stay unseen.  The take itself is heard afterwards.
"""

from collections import deque
from collections.abc import Callable
from concurrent.futures import Future
from dataclasses import replace

import numpy as np

from rhythmtrain.devices.ports import Block
from rhythmtrain.hearing.live_bleed import Job, LiveBleed
from rhythmtrain.hearing.live_onsets import LiveOnset, LiveOnsets
from rhythmtrain.hearing.live_way import Learned, Way
from rhythmtrain.rehearsal.beside import Ear

EARLY_S, LATE_S = 0.03, 0.06
LOUDER_DB = 6.0
USUAL_PERCENTILE = 25
LEAST_KNOWN = 3
REMEMBERED = 64
MEASURED_S = 0.03
SETTLED_S = 0.1
# Over what is left of the loudspeaker: leftovers alone reach PLAYER_DB, as long as nobody was heard
# (measured on the half "tune" of tests/simulate/rooms.py, see tests/simulate/live_table.py).
PLAYER_DB, CLEAR_DB, STARTS_DB = 17.0, 4.0, 6.0
SOFTER_DB = 14.0
LAST_CLAPS = 16

Work = Callable[[Job], "Future[Learned | None]"]


def at_once(job: Job) -> "Future[Learned | None]":
    """Do a job here and now."""
    done: Future[Learned | None] = Future()
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
        self._playing = LiveOnsets(rate)
        self._bleed = LiveBleed(rate, way if way is not None and way.rate == rate else None)
        self._work = work
        self._learning: Future[Learned | None] | None = None
        self._track = track
        self._read = self._frames = 0
        self._clear_from_s = np.inf
        self._coming: deque[LiveOnset] = deque()
        self._known: deque[LiveOnset] = deque(maxlen=REMEMBERED)
        self._gains_db: deque[float] = deque(maxlen=REMEMBERED)
        self._claps_db: deque[float] = deque(maxlen=LAST_CLAPS)

    def __call__(self, recorded: Block) -> tuple[float, ...]:
        """Return when in the track the claps fell that became known with ``recorded``."""
        self._read_track()
        found = self._recording.feed(recorded, self._taken_out(recorded))
        self._frames += len(recorded)
        shown = [each for each in found if self._is_players(each)]
        self._measure()
        self._learn()
        return tuple(each.time_s - self._delay_s for each in shown)

    def _read_track(self) -> None:
        """Find out where something starts in what was played since."""
        for block in self._track[self._read :]:
            self._bleed.play(block)
            for onset in self._playing.feed(block):
                heard = replace(onset, time_s=onset.time_s + self._delay_s)
                self._coming.append(heard)
                self._known.append(heard)
        self._read = len(self._track)

    def _taken_out(self, recorded: Block) -> Block | None:
        """Return the loudspeaker's part of ``recorded``, as far as it is known."""
        bleed = self._bleed.hear(recorded)
        if bleed is None:
            self._clear_from_s = np.inf
        else:
            self._clear_from_s = min(self._clear_from_s, self._frames / self._rate + SETTLED_S)
        return bleed

    def _learn(self) -> None:
        """Take what was learned since, and let more be learned."""
        if self._learning is not None:
            if not self._learning.done():
                return
            self._bleed.learn(self._learning.result())
            self._learning = None
        job = self._bleed.job()
        if job is not None:
            self._learning = self._work(job)

    def _measure(self) -> None:
        """Keep by how much louder it is where something of the track is heard by now, than in the track."""
        until_s = self._frames / self._rate - MEASURED_S
        while self._coming and self._coming[0].time_s <= until_s:
            onset = self._coming.popleft()
            heard_db = self._recording.level_db(onset.time_s)
            self._gains_db.append(heard_db - onset.level_db)

    def _is_players(self, onset: LiveOnset) -> bool:
        together_db = [
            each.level_db for each in self._known if -EARLY_S < onset.time_s - each.time_s < LATE_S
        ]
        if onset.time_s >= self._clear_from_s:
            return self._stands_clear(onset, starts=bool(together_db))
        if not together_db:
            return True
        if len(self._gains_db) < LEAST_KNOWN:
            return False
        gain_db = float(np.percentile(self._gains_db, USUAL_PERCENTILE))
        return onset.level_db > max(together_db) + gain_db + LOUDER_DB

    def _stands_clear(self, onset: LiveOnset, *, starts: bool) -> bool:
        """Return whether ``onset`` is no leftover of the loudspeaker."""
        least_db = STARTS_DB if starts else CLEAR_DB
        if onset.over_db >= PLAYER_DB:
            self._claps_db.append(onset.level_db)
        elif not self._claps_db:
            return False
        softest_db = float(np.median(self._claps_db)) - SOFTER_DB
        return onset.over_db >= least_db and onset.level_db >= softest_db
