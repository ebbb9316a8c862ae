"""The bands of a stream measured in pages of half a second, and where they rise together.

Pages are counted from the first sample.  The floor of a page is the lowest of the pages around it,
and a page is judged once those after it are known, so that talk before the first clap is measured
against the claps.  Only what a later page can ask for is kept.
"""

from collections.abc import Callable, Iterator

import numpy as np

from rhythmtrain.hearing.onsets.bands import (
    HOP_S,
    Energies,
    band_energies,
    bands_for,
    frame_centres,
)
from rhythmtrain.hearing.onsets.flux import (
    PEAK_REACH,
    Floor,
    Flux,
    band_flux,
    excess,
    floor_factor,
    least_excess,
    least_flux,
    page_floor,
    peaks,
    usual_flux,
)
from rhythmtrain.hearing.onsets.kinds import Kind
from rhythmtrain.hearing.onsets.level import Mono

PAGE = 100
PAGES_BACK = 6
PAGES_AHEAD = 2
PAGES_COMPARED = 4
LEAST_FOR_FLOOR = 30
START_LIFT = 3

# Given the first frame and how many: energies, shape (frames, bands).
Lift = Callable[[int, int], Energies]


class Pages:
    """Measures the pages of a stream and tells, in order, the frames at which something may start."""

    def __init__(self, kind: Kind, rate: int, lift: Lift | None = None) -> None:
        """Begin at frame 0; ``lift`` gives what the floor of each frame and band is raised by."""
        self._kind = kind
        self._rate = rate
        self._bands = bands_for(kind, rate)
        self._weights = self._bands.weights
        self._factor = floor_factor(self._bands.bins)
        self._lift = lift
        self._energies: dict[int, Energies] = {}
        self._floors: dict[int, Floor] = {}
        self._flux: dict[int, Flux] = {}
        self._excess: dict[int, Flux] = {}
        self._summits: dict[int, tuple[float, float]] = {}
        self._fluxed = self._judged = 0
        self.measured = 0

    @property
    def reach(self) -> int:
        """Return how many samples either side of its centre a frame needs."""
        return self._bands.reach

    @property
    def oldest_frame(self) -> int:
        """Return the first frame that is not yet judged."""
        return self._judged * PAGE

    def whole(self, heard: int) -> int:
        """Return how many pages have every sample that their frames need, of ``heard`` samples."""
        return max(0, int((heard - self.reach) / (HOP_S * self._rate)) // PAGE)

    def measure(self, sound: Mono, origin: int, heard: int) -> None:
        """Measure the next page of ``sound``, which begins at sample ``origin`` of the stream.

        A frame that lacks samples is like the next that has all: a recording that begins or ends in
        a steady sound, after ``heard`` samples, would click there.
        """
        page, reach = self.measured, self.reach
        centres = frame_centres(page * PAGE, PAGE, self._rate)
        whole = np.clip(centres, reach, max(reach, heard - reach))
        self._energies[page] = band_energies(sound, whole - origin, self._bands)
        inside = int(np.count_nonzero(centres <= heard - reach))
        if inside >= LEAST_FOR_FLOOR or page == 0:
            self._floors[page] = page_floor(self._energies[page][: max(1, inside)], self._factor)
        self.measured += 1

    def rises(self, *, ended: bool) -> Iterator[tuple[int, float]]:
        """Yield the frames at which the flux peaks, and by how much over the usual, in dB.

        Of the pages for which enough is known of what follows them.
        """
        comparable = self.measured - (0 if ended else PAGES_AHEAD)
        while self._fluxed < comparable:
            self._compare(self._fluxed)
            self._fluxed += 1
        while self._judged < comparable - (0 if ended else PAGES_COMPARED):
            yield from self._page_rises(self._judged)
            self._judged += 1

    def _compare(self, page: int) -> None:
        """Set the frames of ``page`` against the floor of the pages around it."""
        around = range(max(0, page - PAGES_BACK), page + PAGES_AHEAD + 1)
        floor = np.min([self._floors[p] for p in around if p in self._floors], axis=0)
        lag = self._kind.lag
        before = self._energies[page - 1][-lag:] if page else np.tile(START_LIFT * floor, (lag, 1))
        heard = np.concatenate([before, self._energies[page]])
        lifted = np.tile(floor, (len(heard), 1))
        if self._lift is not None:
            lifted += self._lift(page * PAGE - lag, len(heard))
        self._flux[page] = band_flux(heard, lifted, self._kind, self._weights)
        self._excess[page] = excess(self._energies[page], lifted[lag:])
        self._summits[page] = (float(self._flux[page].max()), float(self._excess[page].max()))

    def _page_rises(self, page: int) -> Iterator[tuple[int, float]]:
        """Yield the frames of ``page`` at which the flux peaks, and by how much over the usual."""
        near = (page - 1, page, page + 1)
        wide = range(page - PAGES_BACK, page + PAGES_COMPARED + 1)
        flux = _joined(self._flux, near)
        over = _joined(self._excess, near)
        known = np.concatenate([self._flux[p] for p in near if p in self._flux])
        usual = usual_flux(known)
        summits = [self._summits[p] for p in wide if p in self._summits]
        threshold = least_flux(usual, max(flux for flux, _ in summits), self._kind)
        full = least_excess([loud for _, loud in summits], self._kind)
        for peak in peaks(flux[PAGE - PEAK_REACH : 2 * PAGE + PEAK_REACH], threshold):
            frame = PAGE + int(peak) - PEAK_REACH
            if over[frame : frame + self._kind.fullness_frames].max() < full:
                continue
            yield (page - 1) * PAGE + frame, float(flux[frame]) - usual[0]

    def forget(self) -> None:
        """Drop pages that no later page can ask for."""
        for table, keep in (
            (self._energies, self._fluxed - 1),
            (self._floors, self._fluxed - PAGES_BACK),
            (self._flux, self._judged - 1),
            (self._excess, self._judged - 1),
            (self._summits, self._judged - PAGES_BACK),
        ):
            for page in [p for p in table if p < keep]:
                del table[page]


def _joined(table: dict[int, Flux], pages: tuple[int, ...]) -> Flux:
    """Return the pages one after the other, silence standing for those that do not exist."""
    return np.concatenate([table.get(page, np.zeros(PAGE, np.float32)) for page in pages])
