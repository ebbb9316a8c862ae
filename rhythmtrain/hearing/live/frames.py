"""A stream measured frame by frame: energies, floors, and what rises out of them, so far.

The first stage of ``onsets``, with what is known by then: floors are those of the last three
seconds.  What of the stream is known to be a loudspeaker's is taken out before, and how much of it
is still there raises the floor (``floor``).
"""

from collections import deque

import numpy as np
from numpy.typing import ArrayLike, NDArray

from rhythmtrain.hearing.live.floor import LiveFloor, lifted
from rhythmtrain.hearing.onsets.bands import (
    HOP_S,
    Energies,
    band_energies,
    bands_for,
    frame_centres,
)
from rhythmtrain.hearing.onsets.flux import Floor, band_flux, excess, floor_factor, page_floor
from rhythmtrain.hearing.onsets.kinds import Kind
from rhythmtrain.hearing.onsets.level import Mono, as_mono
from rhythmtrain.hearing.onsets.pages import PAGE, START_LIFT

PAGES = 6
LEAST, RENEWED = 30, 10
LOWEST_HZ, QUIET = 500.0, 1e-12
LOUDNESS_S = (-0.005, 0.02)


class LiveFrames:
    """Measures a stream of blocks of any size at ``rate``; keeps the last three seconds."""

    def __init__(self, rate: int, kind: Kind, margin_s: float) -> None:
        """Begin; of the sound at least ``margin_s`` beside the frames not yet judged is kept."""
        self.rate = rate
        self._kind = kind
        self._bands = bands_for(kind, rate)
        self._weights = self._bands.weights
        self._factor = floor_factor(self._bands.bins)
        self._margin = max(self._bands.reach, round(margin_s * rate)) + 1
        self.sound: Mono = np.zeros(self._margin, np.float32)
        self.origin = -self._margin
        self.count = 0
        self.flux: deque[float] = deque(maxlen=PAGES * PAGE)
        self.over: deque[float] = deque(maxlen=PAGES * PAGE)
        self.summits: deque[float] = deque(maxlen=PAGES)
        self._energies: list[Energies] = []
        self._floors: deque[Floor] = deque(maxlen=PAGES)
        self._low: Floor = np.zeros(0, np.float32)
        self._bleed: Mono = np.zeros(self._margin, np.float32)
        self._beside = LiveFloor(len(self._weights))
        self._lifts: deque[Floor] = deque(maxlen=PAGE)
        self._levels: deque[float] = deque(maxlen=PAGE)
        self._expected: deque[float] = deque(maxlen=PAGE)
        self._audible = self._bands.starts * (rate / self._bands.length) >= LOWEST_HZ

    def add(self, block: ArrayLike, bleed: Mono | None) -> None:
        """Take the next ``block``, shape (n,) or (n, channels), less ``bleed``, shape (n,)."""
        mono = as_mono(block)
        taken = np.zeros(mono.size, np.float32) if bleed is None else bleed
        self.sound = np.concatenate([self.sound, mono - taken])
        self._bleed = np.concatenate([self._bleed, taken])

    def measure(self) -> bool:
        """Measure one more frame, and return whether there was sound enough for it."""
        if not self.known(self.count, self._bands.reach):
            return False
        centre = frame_centres(self.count, 1, self.rate)
        energies = band_energies(self.sound, centre - self.origin, self._bands)[0]
        self._energies.append(energies)
        self._energies = self._energies[-PAGE:]
        leftover = self._beside.leftover(self._bleed_at(centre), energies)
        if self.count % PAGE == PAGE - 1:
            self._floors.append(page_floor(np.array(self._energies), self._factor))
            self.summits.append(max(list(self.over)[-PAGE + 1 :]))
        if self.count % RENEWED == 0:
            self._low = self._floor()
        self._compare(leftover)
        self._levels.append(float(energies[self._audible].sum()))
        self._expected.append(float((self._low + leftover)[self._audible].sum()))
        self.count += 1
        return True

    def known(self, frame: int, after: int) -> bool:
        """Return whether the samples up to ``after`` behind the centre of ``frame`` have come."""
        centre = int(frame_centres(frame, 1, self.rate)[0])
        return centre + after <= self.origin + self.sound.size

    def level_db(self, time_s: float) -> float:
        """Return the power from 5 ms before ``time_s`` to 20 ms after, of what is still kept."""
        low, high = (round((time_s + each) * self.rate) - self.origin for each in LOUDNESS_S)
        part = self.sound[max(low, 0) : max(high, 1)]
        return 10 * float(np.log10(np.mean(np.square(part, dtype=np.float64)) + QUIET))

    def over_db(self, frame: int) -> float:
        """Return by how much the loudest of the frames from ``frame`` on stands out."""
        back = self.count - frame
        levels, expected = list(self._levels)[-back:], list(self._expected)[-back:]
        return 10 * float(np.log10((max(levels) + QUIET) / (max(expected) + QUIET)))

    def forget(self, judged: int) -> None:
        """Drop the samples that no frame from ``judged`` on can ask for."""
        keep = int(min(judged, self.count) * HOP_S * self.rate) - 4 * self._margin
        drop = keep - self.origin
        if drop > self.rate // 4:
            self.sound, self._bleed = self.sound[drop:], self._bleed[drop:]
            self.origin = keep

    def _compare(self, leftover: Floor) -> None:
        """Set the newest frame against one some frames ago, over the floors of both."""
        lag = self._kind.lag
        self._lifts.append(lifted(self._low, leftover))
        floor = self._lifts[-1]
        before, earlier = START_LIFT * floor, floor
        if self.count >= lag:
            before = self._energies[-1 - lag]
            earlier = np.maximum(self._lifts[-1 - lag], self._low)
        heard = np.stack([before, *[self._energies[-1]] * lag])
        floors = np.stack([earlier, *[floor] * lag])
        self.flux.append(float(band_flux(heard, floors, self._kind, self._weights)[-1]))
        self.over.append(float(excess(heard[-1:], floor)[0]))

    def _bleed_at(self, centre: NDArray[np.int64]) -> Energies | None:
        """Return the energies of the bleed that was taken out, None where there was none."""
        place, reach = int(centre[0]) - self.origin, self._bands.reach
        if not self._bleed[place - reach : place + reach].any():
            return None
        energies: Energies = band_energies(self._bleed, centre - self.origin, self._bands)[0]
        return energies

    def _floor(self) -> Floor:
        recent = np.array(self._energies)
        if self._floors and len(recent) < LEAST:
            floors = list(self._floors)
        else:
            floors = [*self._floors, page_floor(recent, self._factor)]
        lowest: Floor = np.min(floors, axis=0)
        return lowest
