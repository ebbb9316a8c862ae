"""The loudspeaker taken out while it plays: what it will give at the microphone is computed ahead.

The track is known before it is heard, so with a ``Way`` (see ``way``) the bleed of each block is
known when the block comes, and taking it out is one subtraction.  What to learn of the way from the
last seconds is given out as a job: whoever listens lets another thread do it, and hands the answer
back when it is there.
"""

from collections.abc import Callable
from functools import partial

import numpy as np
from scipy.fft import irfft, next_fast_len, rfft

from rhythmtrain.hearing.bleed.correlation import LATEST_S, Sound
from rhythmtrain.hearing.bleed.room import AHEAD_S, RESPONSE_S, with_cube
from rhythmtrain.hearing.bleed.skew import REACH
from rhythmtrain.hearing.live.learning import LOST_DB, Learned, learned
from rhythmtrain.hearing.live.tail import Tail
from rhythmtrain.hearing.live.way import Way, Window, laid

FIRST_S, EVERY_S, SETTLED_S = 1.5, 1.0, 4.0
SETTLING = 4
REMEMBERED_S = 8.0
PREDICTED_S = 0.1
LATELY_S, LOUD, WORSE = 0.1, 0.03, 1.5
FAILURES = 3
NOTHING: Sound = np.zeros(0, np.float32)

Job = Callable[[], Learned | None]


class LiveBleed:
    """Says what of each recorded block is the loudspeaker's, as far as its way is known."""

    def __init__(self, rate: int, known: Way | None = None) -> None:
        """Begin with the way of an earlier take, at the same ``rate``, or with none."""
        self._rate = rate
        self._learned = None if known is None else Learned(known, 0.0)
        self._track, self._heard = Tail(), Tail()
        self._laid: Sound = NOTHING
        self._spectra = np.zeros((2, 0), np.complex64)
        self._ready = Tail()
        self._lately = np.zeros(3)
        self._ahead = round(PREDICTED_S * rate)
        self._due = round(FIRST_S * rate)
        self._failed = self._lessons = 0
        self._outdated = False
        self._loudest = 0.0

    @property
    def way(self) -> Way | None:
        """Return the way as it is known now."""
        return self._learned.way if self._learned and self._learned.useful else None

    def play(self, block: Sound) -> None:
        """Take what is played next, shape (n,)."""
        self._track.add(block)

    def hear(self, block: Sound) -> Sound | None:
        """Return the bleed in the next recorded ``block``, shape (n,), None where it is not known."""
        self._heard.add(block)
        self._loudest = max(self._loudest, float(np.vdot(block, block)) / max(len(block), 1))
        now = self._learned
        bleed = self._predicted(now.way, len(block)) if now and now.useful else None
        if now is not None and bleed is not None and self._made_worse(block, bleed):
            self._learned, self._lessons = Learned(now.way, 0.0), 0
            self._heard.forget(self._heard.stop)
            self._due = self._heard.stop + round(FIRST_S * self._rate)
            self._outdated = True
        self._forget()
        return bleed

    def _made_worse(self, block: Sound, bleed: Sound) -> bool:
        """Return whether taking out ``bleed`` has made louder what is loud: the way is another."""
        left = block - bleed
        sums = np.array([np.vdot(each, each) for each in (bleed, block, left)], np.float64)
        if sums[0] < LOUD * self._loudest * len(block):
            return False
        fade = 0.5 ** (len(block) / (LATELY_S * self._rate))
        self._lately = fade * self._lately + np.array([len(block), *sums[1:]])
        frames, before, after = self._lately.tolist()
        return bool(frames >= 0.5 * LATELY_S * self._rate and after > WORSE * before)

    def job(self) -> Job | None:
        """Return what there is to learn now, for another thread; None where it is too soon."""
        if self._heard.stop < self._due:
            return None
        settled = self._lessons >= SETTLING
        self._due = self._heard.stop + round((SETTLED_S if settled else EVERY_S) * self._rate)
        self._outdated = False
        ends = self._heard.stop - self._track.first
        window = Window(
            self._heard.sound.copy(),
            self._heard.first,
            self._track.sound[:ends].copy(),
            self._track.first,
            self._rate,
        )
        return partial(learned, window, self._learned)

    def learn(self, found: Learned | None) -> None:
        """Take the answer of a job; a way that fails again and again is given up.

        What was learned from before the way became another teaches nothing.
        """
        if self._outdated:
            return
        self._begin_anew()
        if found is not None and found.softer_db >= LOST_DB:
            self._learned, self._failed = found, 0
            self._lessons += found.useful
            return
        self._failed, self._lessons = self._failed + 1, 0
        if self._learned is not None:
            self._learned = Learned(self._learned.way, 0.0)
        if self._failed >= FAILURES:
            self._learned, self._failed = None, 0

    def _begin_anew(self) -> None:
        """Forget what was computed with another way."""
        self._laid = NOTHING
        self._spectra = np.zeros((2, 0), np.complex64)
        self._ready = Tail(self._heard.stop)
        self._lately = np.zeros(3)

    def _predicted(self, way: Way, count: int) -> Sound:
        """Return the bleed of the last ``count`` frames.

        Where the track is there already, that of the next blocks is computed with it.
        """
        stop = self._heard.stop
        if self._ready.stop < stop:
            self._ready.add(
                self._convolved(way, min(max(stop, self._whole(way)), stop + self._ahead))
            )
        first = stop - count - self._ready.first
        bleed = self._ready.sound[first : first + count]
        self._ready.forget(stop, at_once=1)
        return bleed

    def _whole(self, way: Way) -> int:
        """Return up to which frame all is known of the track as it is laid."""
        late_s = way.delay_s - AHEAD_S
        return int((self._track.stop - REACH) * (1 + way.skew_ppm * 1e-6) + late_s * self._rate)

    def _convolved(self, way: Way, stop: int) -> Sound:
        """Return the bleed up to frame ``stop``: the track's past, convolved with the room.

        What of the track is not there yet would sound within a room's first 3 ms at most.
        """
        count = stop - self._ready.stop
        needed = way.taps + count - 1
        fresh = count + REACH + self._early(way)
        if self._laid.size + count < needed:
            fresh = needed
        new = laid(self._track.sound, self._track.first, (stop - fresh, stop), way)
        sound = np.concatenate([self._laid[: self._laid.size + count - fresh], new])[-needed:]
        self._laid = sound
        size = next_fast_len(needed, real=True)
        if self._spectra.shape[-1] != size // 2 + 1:
            self._spectra = rfft(way.rooms, size, axis=1)
        both = rfft(np.stack(with_cube(sound, way.highest)), size, axis=1) * self._spectra
        bleed: Sound = irfft(both.sum(axis=0), size)[way.taps - 1 : needed].astype(np.float32)
        return bleed

    def _early(self, way: Way) -> int:
        """Return how many frames at the end may have been laid before the track was there."""
        return max(0, round((0.004 - way.delay_s) * self._rate))

    def _forget(self) -> None:
        remembered = round(REMEMBERED_S * self._rate)
        first = self._heard.stop - remembered
        self._heard.forget(first, at_once=self._rate)
        spare = round((RESPONSE_S + LATEST_S) * self._rate) + 2 * REACH
        self._track.forget(first - self._rate - spare, at_once=self._rate)
