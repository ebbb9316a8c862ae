"""Onsets while they happen, for the eye: each is told within 60 ms in blocks of up to 20 ms.

The same two stages as in ``onsets``, but with what is known by then: floors and usual levels are
those of the last three seconds, a peak need only top the next 10 or 15 ms, and the wave is searched as
soon as most of what the search wants has come: the last 6 ms are its own mirror image.  What is judged afterwards is heard anew, with what
came later; the two differ where a loud sound follows a soft one.

Of a player who counts aloud only what is steep above 1 kHz, and there not far softer than the
loudest of the last sounds, is told: until the first clap a word may pass for one.
"""

from collections import deque
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from rhythmtrain.hearing.attack import AFTER_S, BEFORE_S, attack_near
from rhythmtrain.hearing.bands import HOP_S, Energies, band_energies, bands_for, frame_centres
from rhythmtrain.hearing.flux import (
    Floor,
    band_flux,
    excess,
    floor_factor,
    least_excess,
    least_flux,
    page_floor,
    usual_flux,
)
from rhythmtrain.hearing.kinds import kind_named
from rhythmtrain.hearing.level import Mono, as_mono, checked_rate
from rhythmtrain.hearing.onsets import PAGE, START_LIFT, stands_out
from rhythmtrain.hearing.sorting import stacked
from rhythmtrain.hearing.strokes import LONGEST_S, UPPER, strokes_near

AHEAD, AHEAD_OF_NOTES = 3, 2
ENOUGH_S = 0.03
BACK = 4
PAGES = 6
LEAST, RENEWED = 30, 10
MOVED_S = 0.006
STEEP_DB, SOFTER_DB = 8.0, 12.0
LAST_SOUNDS = 16
LOUDNESS_S = (-0.005, 0.02)


@dataclass(frozen=True, slots=True)
class LiveOnset:
    """A sound that started at ``time_s`` of the stream, and its power just after, in dB."""

    time_s: float
    level_db: float


class LiveOnsets:
    """Hears a stream of blocks of any size; the answer does not depend on the sizes."""

    def __init__(self, rate: int, *, kind: str = "claps", aloud: bool = False) -> None:
        """Start a stream at ``rate`` in which ``kind`` is listened for; see ``find_onsets``."""
        self._rate = checked_rate(rate)
        self._kind = kind_named(kind)
        self._ahead = AHEAD if self._kind.sharp else AHEAD_OF_NOTES
        self._aloud = aloud and kind == "claps"
        self._bands = bands_for(self._kind, self._rate)
        self._weights = self._bands.weights
        self._factor = floor_factor(self._bands.bins)
        self._margin = max(self._bands.reach, round(LONGEST_S * self._rate)) + 1
        self._sound: Mono = np.zeros(self._margin, np.float32)
        self._origin = -self._margin
        self._energies: list[Energies] = []
        self._floors: deque[Floor] = deque(maxlen=PAGES)
        self._summits: deque[float] = deque(maxlen=PAGES)
        self._flux: deque[float] = deque(maxlen=PAGES * PAGE)
        self._over: deque[float] = deque(maxlen=PAGES * PAGE)
        self._low: Floor = np.zeros(0, np.float32)
        self._frames = self._judged = 0
        self._last_s = -np.inf
        self._uppers: deque[float] = deque(maxlen=LAST_SOUNDS)

    def feed(self, block: ArrayLike) -> tuple[LiveOnset, ...]:
        """Return the onsets that became known with ``block``, shape (n,) or (n, channels)."""
        self._sound = np.concatenate([self._sound, as_mono(block)])
        found = []
        while self._known(self._frames, self._bands.reach):
            self._measure()
            found += self._ripe()
        found += self._ripe()
        self._forget()
        return tuple(found)

    def level_db(self, time_s: float) -> float:
        """Return the power from 5 ms before ``time_s`` to 20 ms after, of what is still kept."""
        low, high = (round((time_s + each) * self._rate) - self._origin for each in LOUDNESS_S)
        part = self._sound[max(low, 0) : max(high, 1)]
        return 10 * float(np.log10(np.mean(np.square(part, dtype=np.float64)) + 1e-12))

    def _known(self, frame: int, after: int) -> bool:
        """Return whether the samples up to ``after`` behind the centre of ``frame`` have come."""
        centre = int(frame_centres(frame, 1, self._rate)[0])
        return centre + after <= self._origin + self._sound.size

    def _measure(self) -> None:
        """Measure one more frame against the floor of what was heard so far."""
        centre = frame_centres(self._frames, 1, self._rate)
        self._energies.append(band_energies(self._sound, centre - self._origin, self._bands)[0])
        self._energies = self._energies[-PAGE:]
        if self._frames % PAGE == PAGE - 1:
            self._floors.append(page_floor(np.array(self._energies), self._factor))
            self._summits.append(max(list(self._over)[-PAGE + 1 :]))
        if self._frames % RENEWED == 0:
            self._low = self._floor()
        floor = self._low
        lag = self._kind.lag
        before = self._energies[-1 - lag] if self._frames >= lag else START_LIFT * floor
        pair = np.stack([before, self._energies[-1]])
        heard = np.concatenate([pair[:1], np.repeat(pair[1:], lag, axis=0)])
        self._flux.append(float(band_flux(heard, floor, self._kind, self._weights)[-1]))
        self._over.append(float(excess(pair[1:], floor)[0]))
        self._frames += 1

    def _floor(self) -> Floor:
        recent = np.array(self._energies)
        if self._floors and len(recent) < LEAST:
            floors = list(self._floors)
        else:
            floors = [*self._floors, page_floor(recent, self._factor)]
        lowest: Floor = np.min(floors, axis=0)
        return lowest

    def _ripe(self) -> list[LiveOnset]:
        """Return the onset at the next frames that can be judged, as far as there is any."""
        found = []
        after = round(ENOUGH_S * self._rate) if self._kind.sharp else 0
        while self._judged + self._ahead < self._frames and self._known(self._judged, after):
            onset = self._at(self._judged)
            self._judged += 1
            if onset is not None:
                self._last_s = onset.time_s
                found.append(onset)
        return found

    def _at(self, frame: int) -> LiveOnset | None:
        """Return the onset at ``frame``, if the flux peaks there and something stands out."""
        back = self._frames - frame
        if frame < LEAST or self._flux[-back] < self._kind.least_flux_db:
            return None
        flux = np.array(self._flux, np.float32)
        here = len(flux) - back
        around = flux[max(0, here - BACK) : here + self._ahead + 1]
        if around.argmax() != min(here, BACK):
            return None
        usual = usual_flux(flux[-2 * PAGE :])
        if flux[here] < least_flux(usual, float(flux.max()), self._kind):
            return None
        over = list(self._over)[here : here + self._ahead + 1]
        if max(over) < least_excess([*self._summits, max(over)], self._kind):
            return None
        return self._placed(frame, float(flux[here]) - usual[0])

    def _placed(self, frame: int, flux_db: float) -> LiveOnset | None:
        """Return the onset where the wave shows it, unless it is one already told, or a word."""
        kind = self._kind
        place = int(frame_centres(frame, 1, self._rate)[0])
        time_s = place / self._rate - kind.early_s
        if kind.sharp:
            low = place - round(BEFORE_S * self._rate) - self._origin
            segment = self._sound[low : low + round((BEFORE_S + ENOUGH_S) * self._rate)]
            missing = round((BEFORE_S + AFTER_S) * self._rate) - segment.size
            segment = np.pad(segment, (0, missing), "reflect")
            attack = attack_near(segment, self._rate, missing=-low - self._origin)
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
        return LiveOnset(max(0.0, time_s), self.level_db(time_s))

    def _stroke(self, time_s: float) -> float | None:
        """Return by how much a stroke near ``time_s`` lies after it, None where it is a word."""
        place = round(time_s * self._rate) - self._origin
        stroke = strokes_near(self._sound, place, self._rate)[0]
        sound = stacked([stroke])
        upper_db = float(sound.upper_db[0])
        self._uppers.append(upper_db)
        steep = float(sound.rise_db[0, UPPER:].mean()) >= STEEP_DB
        if not steep or upper_db < max(self._uppers) - SOFTER_DB:
            return None
        return stroke.moved_s if abs(stroke.moved_s) > MOVED_S else 0.0

    def _forget(self) -> None:
        """Drop the samples that no later frame can ask for."""
        oldest = min(self._judged, self._frames)
        keep = int(oldest * HOP_S * self._rate) - 4 * self._margin
        drop = keep - self._origin
        if drop > self._rate // 4:
            self._sound = self._sound[drop:]
            self._origin = keep
