"""When something was played: onsets in a recording, found in two stages.

*Onset* is where a sound reaches 5 % of its peak: about when it is first heard, not when it is
loudest.  First, bands in which energy rises together give candidates on a grid of 5 ms (see
``flux``); then the wave around each is searched for the attack itself (see ``attack``).  Where
the attack is too weak to be placed, the first stage's time stays, with its larger uncertainty.

Everything is cut at places counted from the first sample (pages of half a second), never at the
blocks that arrive, so any block size gives the same onsets and an hour needs the memory of a few
seconds.  A page is judged once seven later pages (3.5 s) are known: talk before the first clap is
measured against the claps.

A player who counts aloud is heard *aloud*: every candidate is kept with what it sounds like, and at
the end the player's own strokes are sorted out (see ``sorting``), because what they are like is
only known then.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from rhythmtrain.hearing.onsets.attack import AFTER_S, BEFORE_S, Attack, attack_near
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
from rhythmtrain.hearing.onsets.kinds import Kind, kind_named
from rhythmtrain.hearing.onsets.level import Mono, as_mono, check_audible, checked_rate
from rhythmtrain.hearing.onsets.sorting import sorted_out
from rhythmtrain.hearing.onsets.strokes import LONGEST_S, Stroke, strokes_near
from rhythmtrain.hearing.onsets.tone import tone_share

PAGE = 100
PAGES_BACK = 6
PAGES_AHEAD = 2
PAGES_COMPARED = 4
LEAST_FOR_FLOOR = 30
START_LIFT = 3
SPREAD_FACTOR = 1.4
EVIDENCE_PER_DB = 40.0
SLICE = 1 << 17
MOVED_S, MOVED_ERROR_S = 0.006, 0.002


@dataclass(frozen=True, slots=True)
class Onset:
    """A sound that starts.

    Attributes:
        time_s: Where it reaches 5 % of its peak, in seconds from the first sample.
        strength: How far it stands over the sound just before, in dB, in its best band.
        uncertainty_s: Standard error of ``time_s``.
    """

    time_s: float
    strength: float
    uncertainty_s: float


Candidate = tuple[Onset, Stroke]
# Given the first frame and how many: energies, shape (frames, bands).
Lift = Callable[[int, int], Energies]


def find_onsets(
    sound: ArrayLike, rate: int, *, kind: str = "claps", aloud: bool = False
) -> tuple[Onset, ...]:
    """Return the onsets of ``sound``, shape (n,) or (n, channels), in the order of time.

    Args:
        sound: Samples between -1 and 1; channels are averaged.
        rate: Samples a second, at least 8000.
        kind: What is listened for, a key of ``kinds.KINDS``.
        aloud: Whether the player may count aloud while clapping; only claps are sorted.

    Raises:
        TakeError: the recording is empty, silent, or holds samples that are not finite.
        RequestError: an unknown kind or an impossible rate.
    """
    finder = OnsetFinder(rate, kind=kind, aloud=aloud)
    return (*finder.feed(sound), *finder.finish())


def candidates(sound: ArrayLike, rate: int) -> list[Candidate]:
    """Return all that may be claps in ``sound``, with what each sounds like, before sorting."""
    finder = OnsetFinder(rate, aloud=True)
    finder.feed(sound)
    finder.finish()
    return finder.candidates


class OnsetFinder:
    """Finds onsets in a stream of blocks of any size; the answer does not depend on the sizes."""

    def __init__(
        self, rate: int, *, kind: str = "claps", aloud: bool = False, lift: Lift | None = None
    ) -> None:
        """Start a stream at ``rate`` samples a second in which ``kind`` is listened for.

        Where the player counts ``aloud`` all claps come when the stream has ended.  ``lift`` gives
        what the floor of each frame and band is raised by, where something else is known to sound.
        """
        self._rate = checked_rate(rate)
        self._kind = kind_named(kind)
        self._bands = bands_for(self._kind, self._rate)
        self._weights = self._bands.weights
        self._factor = floor_factor(self._bands.bins)
        self._lift = lift
        self._aloud = aloud and kind == "claps"
        self.candidates: list[Candidate] = []
        needed_s = LONGEST_S if self._aloud else BEFORE_S
        self._margin = max(self._bands.reach, round(needed_s * self._rate)) + 1
        self._sound: Mono = np.zeros(self._margin, np.float32)
        self._origin = -self._margin
        self._pending: list[Mono] = []
        self._energies: dict[int, Energies] = {}
        self._floors: dict[int, Floor] = {}
        self._flux: dict[int, Flux] = {}
        self._excess: dict[int, Flux] = {}
        self._summits: dict[int, tuple[float, float]] = {}
        self._heard = self._measured = self._fluxed = self._judged = 0
        self._range = (np.inf, -np.inf)
        self._waiting: Onset | None = None

    def feed(self, block: ArrayLike) -> tuple[Onset, ...]:
        """Return the onsets that became certain with ``block``, shape (n,) or (n, channels)."""
        samples = np.asarray(block)
        if samples.ndim == 0 or len(samples) <= SLICE:
            return tuple(self._take(as_mono(samples)))
        slices = (samples[i : i + SLICE] for i in range(0, len(samples), SLICE))
        return tuple(onset for part in slices for onset in self._take(as_mono(part)))

    def _take(self, mono: Mono) -> Iterator[Onset]:
        """Keep ``mono`` until it completes a page, then yield what became certain."""
        if mono.size == 0:
            return
        self._range = (
            min(self._range[0], float(mono.min())),
            max(self._range[1], float(mono.max())),
        )
        self._heard += mono.size
        self._pending.append(mono)
        pages = self._whole_pages()
        if pages > self._measured:
            self._gather()
            yield from self._advance(pages)

    def _gather(self) -> None:
        self._sound = np.concatenate([self._sound, *self._pending])
        self._pending = []

    def finish(self) -> tuple[Onset, ...]:
        """Return the onsets that were still open when the stream ended."""
        check_audible(*self._range, self._heard)
        frames = 1 + int((self._heard - 1) / (HOP_S * self._rate))
        self._gather()
        self._sound = np.pad(self._sound, (0, self._page_reach()), "reflect")
        last = -(-frames // PAGE)
        found = [*self._advance(last), *self._judge(ended=True)]
        if self._waiting is not None:
            found.append(self._waiting)
            self._waiting = None
        found += own_strokes(self.candidates)
        return tuple(o for o in found if o.time_s < self._heard / self._rate)

    def _page_reach(self) -> int:
        return round(PAGE * HOP_S * self._rate) + round(AFTER_S * self._rate) + 2 * self._margin

    def _whole_pages(self) -> int:
        """Return how many pages have every sample that their frames need."""
        sure = self._heard - self._bands.reach
        return max(0, int(sure / (HOP_S * self._rate)) // PAGE)

    def _advance(self, pages: int) -> Iterator[Onset]:
        """Measure up to ``pages``, judging pages as they become ripe and dropping what is behind."""
        while self._measured < pages:
            self._measure(self._measured)
            self._measured += 1
            yield from self._judge(ended=False)
            self._forget()

    def _measure(self, page: int) -> None:
        """Measure the frames of ``page``; one that lacks samples is like the next that has all.

        A recording that begins or ends in a steady sound would click there.
        """
        reach = self._bands.reach
        centres = frame_centres(page * PAGE, PAGE, self._rate)
        whole = np.clip(centres, reach, max(reach, self._heard - reach))
        self._energies[page] = band_energies(self._sound, whole - self._origin, self._bands)
        inside = int(np.count_nonzero(centres <= self._heard - reach))
        if inside >= LEAST_FOR_FLOOR or page == 0:
            self._floors[page] = page_floor(self._energies[page][: max(1, inside)], self._factor)

    def _judge(self, *, ended: bool) -> Iterator[Onset]:
        """Yield the onsets of the pages for which enough is known of what follows them."""
        comparable = self._measured - (0 if ended else PAGES_AHEAD)
        while self._fluxed < comparable:
            self._compare(self._fluxed)
            self._fluxed += 1
        while self._judged < comparable - (0 if ended else PAGES_COMPARED):
            for onset in self._page_onsets(self._judged):
                yield from self._merged(onset)
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

    def _page_onsets(self, page: int) -> Iterator[Onset]:
        """Yield the onsets whose flux peaks in ``page``."""
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
            onset = self._placed((page - 1) * PAGE + frame, float(flux[frame]) - usual[0])
            if onset is not None:
                yield onset

    def _placed(self, frame: int, flux_db: float) -> Onset | None:
        """Return the onset whose flux peaks at ``frame``, unless nothing stands out there."""
        place = int(frame_centres(frame, 1, self._rate)[0])
        low = place - round(BEFORE_S * self._rate) - self._origin
        segment = self._sound[low : low + round((BEFORE_S + AFTER_S) * self._rate)]
        attack = attack_near(segment, self._rate, missing=-low - self._origin)
        if not stands_out(attack, flux_db, self._kind):
            return None
        if not self._sounds_on(place - self._origin):
            return None
        return self._timed(place / self._rate, attack)

    def _sounds_on(self, place: int) -> bool:
        """Return whether what starts at ``place`` of the kept sound may be a note of this kind."""
        least = self._kind.least_tone
        return least == 0 or tone_share(self._sound, place, self._rate) >= least

    def _timed(self, flux_time_s: float, attack: Attack) -> Onset:
        kind = self._kind
        if kind.sharp and attack.evidence >= kind.evidence:
            error_s = math.hypot(SPREAD_FACTOR * attack.uncertainty_s, kind.model_s)
            return Onset(max(0.0, flux_time_s + attack.time_s), attack.strength_db, error_s)
        return Onset(max(0.0, flux_time_s - kind.early_s), attack.strength_db, kind.uncertainty_s)

    def _merged(self, onset: Onset) -> Iterator[Onset]:
        """Yield the onset held back, once ``onset`` is surely another; hold the earlier of a pair."""
        if self._aloud:
            place = round(onset.time_s * self._rate) - self._origin
            near = strokes_near(self._sound, place, self._rate)
            self.candidates += ((onset, stroke) for stroke in near)
            return
        held = self._waiting
        if held is None or onset.time_s - held.time_s >= self._kind.merge_s:
            if held is not None:
                yield held
            self._waiting = onset
        elif onset.strength > held.strength + self._kind.louder_db:
            self._waiting = onset

    def _forget(self) -> None:
        """Drop pages and samples that no later page can ask for."""
        for table, keep in (
            (self._energies, self._fluxed - 1),
            (self._floors, self._fluxed - PAGES_BACK),
            (self._flux, self._judged - 1),
            (self._excess, self._judged - 1),
            (self._summits, self._judged - PAGES_BACK),
        ):
            for page in [p for p in table if p < keep]:
                del table[page]
        oldest = int(frame_centres(self._judged * PAGE, 1, self._rate)[0]) - self._margin
        drop = oldest - self._origin
        if drop > 0:
            self._sound = self._sound[drop:]
            self._origin = oldest


def own_strokes(among: Sequence[Candidate]) -> list[Onset]:
    """Return the player's strokes ``among`` candidates, each where it is steepest."""
    own = []
    times_s = [onset.time_s + stroke.moved_s for onset, stroke in among]
    for index in sorted_out([stroke for _, stroke in among], times_s):
        onset, stroke = among[index]
        if abs(stroke.moved_s) > MOVED_S:
            onset = Onset(max(0.0, times_s[index]), onset.strength, MOVED_ERROR_S)
        own.append(onset)
    return own


def stands_out(attack: Attack, flux_db: float, kind: Kind) -> bool:
    """Return whether an attack that rose by ``flux_db`` over the usual is more than noise makes.

    Noise alone seldom shows both a rise in the bands and a change in the wave: the sum of the two
    parts them better than either (measured on the sets of tests/simulate/scenes.py).
    """
    if flux_db >= kind.plain_flux_db:
        return True
    return (
        attack.strength_db >= kind.least_strength_db
        and attack.evidence >= kind.least_evidence
        and attack.evidence + EVIDENCE_PER_DB * flux_db >= kind.least_sum
    )


def _joined(table: dict[int, Flux], pages: tuple[int, ...]) -> Flux:
    """Return the pages one after the other, silence standing for those that do not exist."""
    return np.concatenate([table.get(page, np.zeros(PAGE, np.float32)) for page in pages])
