"""A recording that misleads is read otherwise, or believed less, once a person's marks say so."""

from dataclasses import replace

import numpy as np
import pytest

from rhythmtrain.notate.beats import beliefs as beat_beliefs
from rhythmtrain.notate.beats import lattice as beat_lattice
from rhythmtrain.notate.beats.marked_lattice import Curves
from tests.simulate.mapping_trials import Trial, first_bars, outcome, trial
from tests.simulate.performances import perform

BARS = 24


def misleading(seed: int, bars: tuple[int, int] = (0, BARS)) -> Trial:
    """Return a steady accompanist whose off-beats look like beats, from a bar up to a bar."""
    each = trial(perform(seed, expressive=False, bars=BARS), seed)
    phases = each.curves.phases.copy()
    begin, end = (_frame(each, bar) for bar in bars)
    phases[:, begin:end] = phases[::-1, begin:end]
    return replace(each, curves=Curves(each.curves.onsets, phases))


def _frame(each: Trial, bar: int) -> int:
    """Return the frame at which ``bar`` begins; those of the first and after the last hold all."""
    if bar in {0, BARS}:
        return int(each.curves.phases.shape[1]) * bar // BARS
    return round(100 * float(each.performed.downbeats_s[bar]))


def read_one_way(monkeypatch: pytest.MonkeyPatch) -> None:
    """Let beats look like beats and nothing else."""
    monkeypatch.setattr(beat_lattice, "READ_AT_FIRST", np.array((1, 0), dtype=np.float32))
    monkeypatch.setattr(beat_lattice, "READ_ON", np.eye(2, dtype=np.float32))


def three_marks(each: Trial) -> float:
    """Return the share of beats that are right with the first, middle and last bar marked."""
    count = each.performed.beats_s.size
    places = (0, count // 2 // each.bar * each.bar, count - each.bar)
    beats, _ = each.solve((), {beat: each.mark(beat) for beat in places})
    return outcome(beats, each.performed.beats_s).right


def test_marks_turn_what_the_off_beats_say(monkeypatch: pytest.MonkeyPatch) -> None:
    """Music with a loud hand off the beat is mapped on the beat sooner, where marks say so."""
    read_one_way(monkeypatch)
    trials = [misleading(seed) for seed in (310, 311)]
    found = np.mean([three_marks(each) for each in trials])
    monkeypatch.setattr(beat_beliefs, "BELIEFS", beat_beliefs.BELIEFS[:1])
    full = np.mean([three_marks(each) for each in trials])
    assert found >= full + 0.2


def test_a_section_of_loud_off_beats_does_not_turn_beats_and_halves_round(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Chords on every off-beat for eight bars: nobody lost half a beat at their beginning."""
    trials = [misleading(seed, (8, 16)) for seed in (310, 311)]

    def right() -> float:
        done = [outcome(first_bars(each), each.performed.beats_s).right for each in trials]
        return float(np.mean(done))

    assert right() >= 0.97
    read_one_way(monkeypatch)
    assert right() <= 0.75
