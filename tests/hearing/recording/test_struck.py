"""What is struck at known moments of a piano recording."""

from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.recording.spectra import Spectra, SpectraFinder
from rhythmtrain.hearing.recording.struck import struck_at
from tests.simulate.performances import HELD_OUT, perform

BARS = 8


def asked(seed: int) -> tuple[Spectra, NDArray[np.float64], NDArray[np.bool_]]:
    """Return a held-out performance, its quarters of beats in seconds, and where a note is."""
    played = perform(HELD_OUT + seed, expressive=True, bars=BARS)
    finder = SpectraFinder(played.rate)
    finder.feed(played.sound)
    places = np.arange(4 * (len(played.beats_s) - 1)) / 4
    seconds = np.interp(places, np.arange(len(played.beats_s)), played.beats_s)
    return finder.finish(), seconds, np.isin(places, np.round(4 * played.piece.onset) / 4)


def test_quarters_of_beats_are_heard_in_held_out_performances() -> None:
    """A cue told from a recording must seldom name a note that is not played."""
    both = only_written = only_heard = 0
    for seed in range(50, 56):
        spectra, seconds, written = asked(seed)
        heard = np.array(struck_at(spectra, seconds).struck)
        both += int((heard & written).sum())
        only_written += int((written & ~heard).sum())
        only_heard += int((heard & ~written).sum())
    assert both / (both + only_written) > 0.93
    assert both / (both + only_heard) > 0.97


def test_chances_are_what_they_say() -> None:
    """Of places called sure nearly none is wrong, of the others many: cues are told alike by them."""
    chances: list[float] = []
    truth: list[bool] = []
    for seed in range(60, 64):
        spectra, seconds, written = asked(seed)
        chances += struck_at(spectra, seconds).chances
        truth += written.tolist()
    chance = np.array(chances)
    wrong = (chance > 0.5) != np.array(truth)
    sure = np.abs(chance - 0.5) > 0.49
    assert sure.mean() > 0.7
    assert wrong[sure].mean() < 0.02
    assert wrong[~sure].mean() > 0.05


def test_a_recording_without_treble_is_heard_all_the_same() -> None:
    """An old tape ends at 3 kHz."""
    spectra, seconds, written = asked(65)
    bands = np.where(spectra.edges_hz < 3000, spectra.bands, np.float32(1e-12))
    heard = np.array(struck_at(replace(spectra, bands=bands), seconds).struck)
    assert (heard == written).mean() > 0.9


def test_moments_outside_the_sound_are_silent() -> None:
    """Nothing is heard where nothing was recorded."""
    spectra, _, _ = asked(1)
    found = struck_at(spectra, [1000.0, 1001.0])
    assert found.struck == (False, False)
    assert found.unsure == (False, False)
    assert struck_at(spectra, []).chances == ()
