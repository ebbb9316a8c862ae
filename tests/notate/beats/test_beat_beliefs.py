"""A recording that misleads is believed less, once a person's marks say so."""

from dataclasses import replace

import numpy as np
import pytest

from rhythmtrain.notate.beats import beliefs as beat_beliefs
from rhythmtrain.notate.beats.marked_lattice import Curves
from tests.simulate.mapping_trials import Trial, outcome, trial
from tests.simulate.performances import perform


def misleading(seed: int) -> Trial:
    """Return a steady accompanist whose off-beats look like beats."""
    each = trial(perform(seed, expressive=False, bars=24), seed)
    upside_down = Curves(each.curves.onsets, np.ascontiguousarray(each.curves.phases[::-1]))
    return replace(each, curves=upside_down)


def three_marks(each: Trial) -> float:
    """Return the share of beats that are right with the first, middle and last bar marked."""
    count = each.performed.beats_s.size
    places = (0, count // 2 // each.bar * each.bar, count - each.bar)
    beats, _ = each.solve((), {beat: each.mark(beat) for beat in places})
    return outcome(beats, each.performed.beats_s).right


def test_marks_turn_what_the_off_beats_say(monkeypatch: pytest.MonkeyPatch) -> None:
    """Music with a loud hand off the beat is mapped on the beat sooner, where marks say so."""
    trials = [misleading(seed) for seed in (310, 311)]
    found = np.mean([three_marks(each) for each in trials])
    monkeypatch.setattr(beat_beliefs, "BELIEFS", beat_beliefs.BELIEFS[:1])
    full = np.mean([three_marks(each) for each in trials])
    assert found >= full + 0.2
