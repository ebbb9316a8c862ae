"""Claps heard past a loudspeaker: onsets in what is left, told from what is left of the bleed.

Three things part the player from the crumbs of the bleed.

1. *Floor.*  To each band's floor three times the bleed that is expected to be left is added, held
   for some hundredths of a second, so that an onset must stand out of that as well.
2. *Excess.*  Each onset is told by the energy of its first 20 ms over what noise and leftover bleed
   give there (``cells``).  Crumbs follow the leftover: they stand a few dB over it, claps
   stand clear of it.  Near the start of something in the track more is asked, because there the
   bleed is worst known.
3. *Level.*  Claps of one player are alike: what lies 16 dB under the typical one is no clap.  The
   typical one must itself stand clear of noise and leftover, else nobody played.

The recording comes in stretches, and of each only its cells stay.
"""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import maximum_filter1d

from rhythmtrain.hearing.bleed.bleed import Cleared, energy, ratio_db
from rhythmtrain.hearing.bleed.cells import (
    CELL_S,
    CLEAR_DB,
    NEAR_CELLS,
    Powers,
    Told,
    decibels,
    soon,
    told_of,
)
from rhythmtrain.hearing.bleed.correlation import Sound
from rhythmtrain.hearing.onsets.bands import Energies, band_energies, bands_for, frame_centres
from rhythmtrain.hearing.onsets.kinds import kind_named
from rhythmtrain.hearing.onsets.onset import Onset
from rhythmtrain.hearing.onsets.onsets import OnsetFinder
from rhythmtrain.hearing.onsets.own_strokes import Candidate, own_strokes

LIFT = 3.0
HELD_FRAMES = 6
# The onset finder looks back two pages of half a second.
KEPT_S = 3.0
SOFTER_DB = 16.0
# One player's claps spread over some 6 dB (the players of tests/simulate/rooms.py).
SOFT_DB = 6.0
PLAIN_DB = 20.0
# Crumbs of the bleed alone reach 19 dB, the clearest claps 42 and more (measured on the first half
# of the takes of tests/simulate/rooms.py).
PLAYER_DB = 24.0
# What is left of a bleed stays softer than it, by 3 dB at least on the same takes.
OVER_BLEED_DB = 3.0
# Whatever stands so far over the leftover is played, also a single clap that is softer than the
# bleed: crumbs that are softer than it reach 25 dB.
NO_CRUMB_DB = 30.0
# So few plain claps say little of the usual one: the others must stand out about as far.
FEW = 4


class PastBleed:
    """Hears a player past a loudspeaker, stretch after stretch of a recording."""

    def __init__(self, rate: int, *, kind: str = "claps", aloud: bool = False) -> None:
        """Begin at frame 0; ``aloud`` is whether the player may count aloud meanwhile.

        ``foreign`` will be what stands clear where none of it is a stroke of the player's.

        Raises:
            RequestError: an unknown kind.
        """
        self._lift = _Lift(rate, kind)
        self._finder = OnsetFinder(rate, kind=kind, aloud=aloud, lift=self._lift)
        self._found: list[Onset] = []
        self._powers = [Powers(rate) for _ in range(3)]
        self._energies = [0.0, 0.0]
        self.frames = 0
        self.foreign: list[Candidate] = []

    def feed(self, stretch: Cleared) -> None:
        """Hear the next stretch."""
        self._lift.feed(stretch.leftover)
        self._found += self._finder.feed(stretch.left)
        sounds = (stretch.left, stretch.leftover, stretch.bleed)
        for powers, sound in zip(self._powers, sounds, strict=True):
            powers.feed(sound)
        for place, sound in enumerate((stretch.bleed, stretch.leftover)):
            self._energies[place] += energy(sound)
        self.frames += len(stretch.left)

    @property
    def claimed_db(self) -> float:
        """Return by how many dB the loudspeaker is softer, as far as the fit itself can tell."""
        return ratio_db(*self._energies)

    def finish(self) -> tuple[Onset, ...]:
        """Return what the player played, in order, once all was heard; nothing where nobody played.

        Raises:
            TakeError: the recording is empty or silent.
        """
        found = (*self._found, *self._finder.finish())
        told = self._told()
        among = self._finder.candidates
        if among:
            clear = _clear([onset for onset, _ in among], told)
            among = [each for each, keep in zip(among, clear, strict=True) if keep]
            found = tuple(own_strokes(among))
        if among and not found and _gated([onset for onset, _ in among], told):
            self.foreign = among
        return _gated(found, told)

    def hidden_s(self, played: Sequence[Onset]) -> tuple[float, ...]:
        """Return when the track was so loud that a clap may have gone unheard beside it.

        That is where a clap somewhat softer than the usual one of ``played`` would not have stood
        out of the raised floor, or of what the start of something leaves.  Seconds of the
        recording, in order, every 30 ms at the most; nothing where nobody played.
        """
        if not played:
            return ()
        told = self._told()
        usual = float(np.median(soon(told.level, told.cells(played))))
        soft = np.full(1, usual * 10 ** (-SOFT_DB / 10))
        every = np.arange(0, len(told.level), NEAR_CELLS)
        least_db = CLEAR_DB + 10 * np.log10(LIFT)
        hidden = set(every[told.over_db(soft, every) < least_db].tolist())
        if told.starts.size:
            covered = told.over_db(soft, told.starts) < told.wanted_db()
            hidden |= set(told.starts[covered].tolist())
        return tuple(cell * CELL_S for cell in sorted(hidden))

    def _told(self) -> Told:
        return told_of(*(powers.cells for powers in self._powers))


class _Lift:
    """The leftover bleed in the bands of the onset finder, frame by frame."""

    def __init__(self, rate: int, kind: str) -> None:
        self._rate = rate
        self._bands = bands_for(kind_named(kind), rate)
        self._sound: Sound = np.zeros(0, np.float32)
        self._origin = 0

    def feed(self, leftover: Sound) -> None:
        """Take the next stretch, and forget what nobody will ask for."""
        gone = max(0, len(self._sound) - round(KEPT_S * self._rate))
        self._origin += gone
        self._sound = np.concatenate([self._sound[gone:], leftover])

    def __call__(self, first: int, count: int) -> Energies:
        """Return what the floor is raised by in ``count`` frames from ``first``."""
        reach = self._bands.reach
        centres = frame_centres(first - HELD_FRAMES, count + HELD_FRAMES, self._rate)
        low, high = int(centres[0]) - reach, int(centres[-1]) + reach
        piece = np.zeros(high - low, np.float32)
        begin = max(low, self._origin)
        end = min(high, self._origin + len(self._sound))
        if begin < end:
            piece[begin - low : end - low] = self._sound[begin - self._origin : end - self._origin]
        energies = band_energies(piece, centres - low, self._bands)
        held = maximum_filter1d(energies, 1 + HELD_FRAMES, axis=0, origin=HELD_FRAMES // 2)
        lifted: Energies = LIFT * held[HELD_FRAMES:]
        return lifted


def _gated(found: Sequence[Onset], told: Told) -> tuple[Onset, ...]:
    """Return the onsets of ``found`` that are the player's."""
    if not found:
        return ()
    cells = told.cells(found)
    heard = soon(told.level, cells)
    excess_db = told.over_db(heard, cells)
    over_bleed_db = told.over_bleed_db(heard, cells)
    plain = (excess_db >= PLAIN_DB) & (over_bleed_db >= OVER_BLEED_DB) | (excess_db >= NO_CRUMB_DB)
    if not plain.any() or excess_db[plain].max() < PLAYER_DB:
        return ()
    typical_db = float(np.median(decibels(heard[plain])))
    kept = _clear(found, told) & (decibels(heard) >= typical_db - SOFTER_DB)
    if plain.sum() < FEW:
        kept &= excess_db >= excess_db[plain].max() - SOFTER_DB
    return tuple(each for each, keep in zip(found, kept, strict=True) if keep)


def _clear(found: Sequence[Onset], told: Told) -> NDArray[np.bool_]:
    """Return which onsets stand clear of noise and leftover, more so where something starts."""
    cells = told.cells(found)
    wanted_db = np.full(len(cells), CLEAR_DB)
    if told.starts.size:
        wanted_db[told.near_starts(cells)] = told.wanted_db()
    clear: NDArray[np.bool_] = told.over_db(soon(told.level, cells), cells) >= wanted_db
    return clear
