"""What is struck at known moments of a piano recording."""

import numpy as np

from rhythmtrain.hearing.recording.spectra import SpectraFinder
from rhythmtrain.hearing.recording.struck import struck_at
from tests.simulate.performances import HELD_OUT, perform


def test_quarters_of_beats_are_heard_in_held_out_performances() -> None:
    """A cue told from a recording must seldom name a note that is not played."""
    both = only_written = only_heard = 0
    for seed in range(HELD_OUT + 50, HELD_OUT + 56):
        played = perform(seed, expressive=True, bars=8)
        finder = SpectraFinder(played.rate)
        finder.feed(played.sound)
        places = np.arange(4 * (len(played.beats_s) - 1)) / 4
        seconds = np.interp(places, np.arange(len(played.beats_s)), played.beats_s)
        heard = np.array(struck_at(finder.finish(), seconds).struck)
        written = np.isin(places, np.round(4 * played.piece.onset) / 4)
        both += int((heard & written).sum())
        only_written += int((written & ~heard).sum())
        only_heard += int((heard & ~written).sum())
    assert both / (both + only_written) > 0.9
    assert both / (both + only_heard) > 0.9


def test_moments_outside_the_sound_are_silent() -> None:
    """Nothing is heard where nothing was recorded."""
    played = perform(1, expressive=True, bars=2)
    finder = SpectraFinder(played.rate)
    finder.feed(played.sound)
    found = struck_at(finder.finish(), [1000.0, 1001.0])
    assert found.struck == (False, False)
    assert found.unsure == (False, False)
