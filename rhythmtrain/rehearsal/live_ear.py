"""What the eye is shown of a microphone while the track plays: where claps fell, some 50 ms ago.

Where the loudspeaker is heard too, its own onsets would be shown as claps.  The track is known, so
what comes together with an onset of the track is shown only if it is clearly louder than what the
microphone usually gives of such an onset: with headphones that is every clap, beside a loudspeaker those on a click may stay
unseen.  The take itself is heard afterwards, with the loudspeaker taken out.
"""

from collections import deque
from dataclasses import replace

import numpy as np

from rhythmtrain.devices.ports import Block
from rhythmtrain.hearing.live_onsets import LiveOnset, LiveOnsets
from rhythmtrain.rehearsal.beside import Ear

EARLY_S, LATE_S = 0.03, 0.06
LOUDER_DB = 6.0
USUAL_PERCENTILE = 25
LEAST_KNOWN = 3
REMEMBERED = 64
MEASURED_S = 0.03


class LiveEar:
    """Hears a recording that begins with frame 0 of the track, block by block."""

    def __init__(self, rate: int, ear: Ear, track: list[Block], *, delay_s: float) -> None:
        """Listen for what ``ear`` says; ``track`` grows by what was handed to the loudspeaker.

        ``delay_s`` is how much later the track is heard.
        """
        self._rate = rate
        self._delay_s = delay_s
        self._recording = LiveOnsets(rate, kind=ear.kind, aloud=ear.aloud)
        self._playing = LiveOnsets(rate)
        self._track = track
        self._read = self._frames = 0
        self._coming: deque[LiveOnset] = deque()
        self._known: deque[LiveOnset] = deque(maxlen=REMEMBERED)
        self._gains_db: deque[float] = deque(maxlen=REMEMBERED)

    def __call__(self, recorded: Block) -> tuple[float, ...]:
        """Return when in the track the claps fell that became known with ``recorded``."""
        self._read_track()
        found = self._recording.feed(recorded)
        self._frames += len(recorded)
        shown = [each for each in found if self._is_players(each)]
        self._measure()
        return tuple(each.time_s - self._delay_s for each in shown)

    def _read_track(self) -> None:
        """Find out where something starts in what was played since."""
        for block in self._track[self._read :]:
            for onset in self._playing.feed(block):
                heard = replace(onset, time_s=onset.time_s + self._delay_s)
                self._coming.append(heard)
                self._known.append(heard)
        self._read = len(self._track)

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
        if not together_db:
            return True
        if len(self._gains_db) < LEAST_KNOWN:
            return False
        gain_db = float(np.percentile(self._gains_db, USUAL_PERCENTILE))
        return onset.level_db > max(together_db) + gain_db + LOUDER_DB
