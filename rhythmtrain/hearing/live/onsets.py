"""Onsets while they happen, for the eye: each is told within 60 ms in blocks of up to 20 ms.

The same two stages as in ``onsets``, but with what is known by then: floors and usual levels are
those of the last three seconds, a peak need only top the next 10 or 15 ms, and the wave is searched as
soon as most of what the search wants has come: the last 6 ms are its own mirror image.  What is judged afterwards is heard anew, with what
came later; the two differ where a loud sound follows a soft one.

Of a player who counts aloud only what is steep above 1 kHz, and there not far softer than the
loudest of the last sounds, is told: until the first clap a word may pass for one.
"""

from collections import deque
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import ArrayLike

from rhythmtrain.hearing.live.frames import LiveFrames
from rhythmtrain.hearing.onsets.attack import attack_near
from rhythmtrain.hearing.onsets.attack_bins import AFTER_S, BEFORE_S
from rhythmtrain.hearing.onsets.bands import frame_centres
from rhythmtrain.hearing.onsets.flux import least_excess, least_flux, usual_flux
from rhythmtrain.hearing.onsets.kinds import Kind, kind_named
from rhythmtrain.hearing.onsets.level import Mono, checked_rate
from rhythmtrain.hearing.onsets.onset import stands_out
from rhythmtrain.hearing.onsets.pages import PAGE
from rhythmtrain.hearing.onsets.sounds_apart import stacked
from rhythmtrain.hearing.onsets.strokes import LONGEST_S, UPPER, strokes_near

AHEAD, AHEAD_OF_NOTES = 3, 2
ENOUGH_S = 0.03
BACK = 4
LEAST = 30
MOVED_S = 0.006
STEEP_DB, SOFTER_DB = 8.0, 12.0
LAST_SOUNDS = 16
# What sounds after a note says whether it was one (``onsets.note``).  The eye cannot wait for that,
# and is shown what stands out; chosen on the sets of tests/simulate/scenes.py, without the held-out ones.
PLAIN_FLUX_DB, PLAIN_SHARE, PLAIN_MADS = 0.5, 0.2, 2.5


@dataclass(frozen=True, slots=True)
class LiveOnset:
    """A sound that started at ``time_s`` of the stream, and its power just after, in dB.

    ``over_db`` is how far it stands over noise and what is left of a loudspeaker that is taken out.
    """

    time_s: float
    level_db: float
    over_db: float


class LiveOnsets:
    """Hears a stream of blocks of any size; the answer does not depend on the sizes."""

    def __init__(self, rate: int, *, kind: str = "claps", aloud: bool = False) -> None:
        """Start a stream at ``rate`` in which ``kind`` is listened for; see ``find_onsets``."""
        self._rate = checked_rate(rate)
        self._kind = _at_once(kind_named(kind))
        self._ahead = AHEAD if self._kind.sharp else AHEAD_OF_NOTES
        self._aloud = aloud and kind == "claps"
        self._frames = LiveFrames(self._rate, self._kind, LONGEST_S)
        self._judged = 0
        self._last_s = -np.inf
        self._uppers: deque[float] = deque(maxlen=LAST_SOUNDS)

    def feed(self, block: ArrayLike, bleed: Mono | None = None) -> tuple[LiveOnset, ...]:
        """Return the onsets that became known with ``block``, shape (n,) or (n, channels).

        ``bleed`` is what is known of it to come from a loudspeaker, shape (n,): it is taken out.
        """
        self._frames.add(block, bleed)
        found = []
        while self._frames.measure():
            found += self._ripe()
        found += self._ripe()
        self._frames.forget(self._judged)
        return tuple(found)

    def _ripe(self) -> list[LiveOnset]:
        """Return the onset at the next frames that can be judged, as far as there is any."""
        found = []
        after = round(ENOUGH_S * self._rate) if self._kind.sharp else 0
        frames = self._frames
        while self._judged + self._ahead < frames.count and frames.known(self._judged, after):
            onset = self._at(self._judged)
            self._judged += 1
            if onset is not None:
                self._last_s = onset.time_s
                found.append(onset)
        return found

    def _at(self, frame: int) -> LiveOnset | None:
        """Return the onset at ``frame``, if the flux peaks there and something stands out."""
        frames = self._frames
        back = frames.count - frame
        if frame < LEAST or frames.flux[-back] < self._kind.least_flux_db:
            return None
        flux = np.array(frames.flux, np.float32)
        here = len(flux) - back
        around = flux[max(0, here - BACK) : here + self._ahead + 1]
        if around.argmax() != min(here, BACK):
            return None
        usual = usual_flux(flux[-2 * PAGE :])
        if flux[here] < least_flux(usual, float(flux.max()), self._kind):
            return None
        over = list(frames.over)[here : here + self._ahead + 1]
        if max(over) < least_excess([*frames.summits, max(over)], self._kind):
            return None
        return self._placed(frame, float(flux[here]) - usual[0])

    def _placed(self, frame: int, flux_db: float) -> LiveOnset | None:
        """Return the onset where the wave shows it, unless it is one already told, or a word."""
        kind, frames = self._kind, self._frames
        place = int(frame_centres(frame, 1, self._rate)[0])
        time_s = place / self._rate - kind.early_s
        if kind.sharp:
            low = place - round(BEFORE_S * self._rate) - frames.origin
            segment = frames.sound[low : low + round((BEFORE_S + ENOUGH_S) * self._rate)]
            missing = round((BEFORE_S + AFTER_S) * self._rate) - segment.size
            segment = np.pad(segment, (0, missing), "reflect")
            attack = attack_near(segment, self._rate, missing=-low - frames.origin)
            if not stands_out(attack, flux_db, kind):
                return None
            if attack.evidence >= kind.evidence:
                time_s = place / self._rate + attack.time_s
        if self._aloud:
            moved_s = self._stroke(time_s)
            if moved_s is None:
                return None
            time_s += moved_s
        if time_s - self._last_s < kind.merge_s:
            return None
        return LiveOnset(max(0.0, time_s), frames.level_db(time_s), frames.over_db(frame))

    def _stroke(self, time_s: float) -> float | None:
        """Return by how much a stroke near ``time_s`` lies after it, None where it is a word."""
        frames = self._frames
        place = round(time_s * self._rate) - frames.origin
        stroke = strokes_near(frames.sound, place, self._rate)[0]
        sound = stacked([stroke])
        upper_db = float(sound.upper_db[0])
        self._uppers.append(upper_db)
        steep = float(sound.rise_db[0, UPPER:].mean()) >= STEEP_DB
        if not steep or upper_db < max(self._uppers) - SOFTER_DB:
            return None
        return stroke.moved_s if abs(stroke.moved_s) > MOVED_S else 0.0


def _at_once(kind: Kind) -> Kind:
    """Return ``kind`` as it is told without what comes after."""
    if not kind.held:
        return kind
    return replace(kind, least_flux_db=PLAIN_FLUX_DB, share=PLAIN_SHARE, mads=PLAIN_MADS)
