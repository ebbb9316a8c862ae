"""When something was played: onsets in a recording, found in two stages.

*Onset* is where a sound reaches 5 % of its peak: about when it is first heard, not when it is
loudest.  First, bands in which energy rises together give candidates on a grid of 5 ms (see
``pages``); then the wave around each is searched for the attack itself (see ``attack``).  Where
the attack is too weak to be placed, the first stage's time stays, with its larger uncertainty.

Everything is cut at places counted from the first sample, never at the blocks that arrive, so any
block size gives the same onsets and an hour needs the memory of a few seconds.

A player who counts aloud is heard *aloud*: every candidate is kept with what it sounds like, and at
the end the player's own strokes are sorted out (see ``own_strokes``).
"""

import math
from collections.abc import Iterator

import numpy as np
from numpy.typing import ArrayLike

from rhythmtrain.hearing.onsets.attack import Attack, attack_near
from rhythmtrain.hearing.onsets.attack_bins import AFTER_S, BEFORE_S
from rhythmtrain.hearing.onsets.bands import HOP_S, bands_for, frame_centres
from rhythmtrain.hearing.onsets.held_back import HeldBack
from rhythmtrain.hearing.onsets.kinds import kind_named
from rhythmtrain.hearing.onsets.level import Mono, as_mono, check_audible, checked_rate
from rhythmtrain.hearing.onsets.note import BACK_S, note_columns, note_logit
from rhythmtrain.hearing.onsets.onset import Onset, stands_out
from rhythmtrain.hearing.onsets.own_strokes import Candidate, candidates_near, own_strokes
from rhythmtrain.hearing.onsets.pages import PAGE, Lift, Pages
from rhythmtrain.hearing.onsets.strokes import LONGEST_S
from rhythmtrain.hearing.onsets.tone import tone_share

SPREAD_FACTOR = 1.4
SLICE = 1 << 17


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
        self._pages = Pages(self._kind, self._rate, lift)
        self._bands = bands_for(self._kind, self._rate)
        self._aloud = aloud and kind == "claps"
        self.candidates: list[Candidate] = []
        needed_s = max(LONGEST_S if self._aloud else BEFORE_S, BACK_S if self._kind.held else 0)
        self._margin = max(self._pages.reach, round(needed_s * self._rate)) + 1
        self._sound: Mono = np.zeros(self._margin, np.float32)
        self._origin = -self._margin
        self._pending: list[Mono] = []
        self._heard = 0
        self._range = (np.inf, -np.inf)
        self._back = HeldBack(self._kind)

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
        pages = self._pages.whole(self._heard)
        if pages > self._pages.measured:
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
        found = [*self._advance(last), *self._judge(ended=True), *self._back.rest()]
        found += own_strokes(self.candidates)
        return tuple(o for o in found if o.time_s < self._heard / self._rate)

    def _page_reach(self) -> int:
        return round(PAGE * HOP_S * self._rate) + round(AFTER_S * self._rate) + 2 * self._margin

    def _advance(self, pages: int) -> Iterator[Onset]:
        """Measure up to ``pages``, judging pages as they become ripe and dropping what is behind."""
        while self._pages.measured < pages:
            self._pages.measure(self._sound, self._origin, self._heard)
            yield from self._judge(ended=False)
            self._forget()

    def _judge(self, *, ended: bool) -> Iterator[Onset]:
        """Yield the onsets of the pages for which enough is known of what follows them."""
        for frame, flux_db in self._pages.rises(ended=ended):
            placed = self._placed(frame, flux_db)
            if placed is not None:
                yield from self._merged(*placed)

    def _placed(self, frame: int, flux_db: float) -> tuple[Onset, float] | None:
        """Return the onset whose flux peaks at ``frame`` and its weight; None if nothing stands out.

        The weight of a stroke is its strength, that of a held note how likely it is one.
        """
        place = int(frame_centres(frame, 1, self._rate)[0])
        low = place - round(BEFORE_S * self._rate) - self._origin
        segment = self._sound[low : low + round((BEFORE_S + AFTER_S) * self._rate)]
        attack = attack_near(segment, self._rate, missing=-low - self._origin)
        if not stands_out(attack, flux_db, self._kind):
            return None
        if not self._sounds_on(place):
            return None
        weight = self._likely_note(place, flux_db) if self._kind.held else attack.strength_db
        if self._kind.held and weight < 0:
            return None
        return self._timed(place / self._rate, attack), weight

    def _sounds_on(self, place: int) -> bool:
        """Return whether what starts at sample ``place`` may be a sound of this kind."""
        least = self._kind.least_tone
        return least == 0 or tone_share(self._sound, place - self._origin, self._rate) >= least

    def _likely_note(self, place: int, flux_db: float) -> float:
        """Return how likely what starts at sample ``place`` is a new note, as a logit."""
        first = max(0, self._origin)
        heard = self._sound[first - self._origin : self._heard - self._origin]
        return note_logit(note_columns(heard, place - first, flux_db, self._bands))

    def _timed(self, flux_time_s: float, attack: Attack) -> Onset:
        kind = self._kind
        if kind.sharp and attack.evidence >= kind.evidence:
            error_s = math.hypot(SPREAD_FACTOR * attack.uncertainty_s, kind.model_s)
            return Onset(max(0.0, flux_time_s + attack.time_s), attack.strength_db, error_s)
        return Onset(max(0.0, flux_time_s - kind.early_s), attack.strength_db, kind.uncertainty_s)

    def _merged(self, onset: Onset, weight: float) -> Iterator[Onset]:
        """Yield the onset held back, once ``onset`` is surely another; aloud keep all for the end."""
        if self._aloud:
            self.candidates += candidates_near(onset, self._sound, self._origin, self._rate)
            return
        yield from self._back.followed_by(onset, weight)

    def _forget(self) -> None:
        """Drop pages and samples that no later page can ask for."""
        self._pages.forget()
        oldest = int(frame_centres(self._pages.oldest_frame, 1, self._rate)[0]) - self._margin
        drop = oldest - self._origin
        if drop > 0:
            self._sound = self._sound[drop:]
            self._origin = oldest
