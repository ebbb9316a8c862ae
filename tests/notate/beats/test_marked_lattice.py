"""A piece in two tempi is mapped: beats may lie far from an even tempo where the recording says so."""

import numpy as np
import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.beats import marked_lattice as rooms
from rhythmtrain.notate.beats.marked_lattice import Curves, marked_lattice
from rhythmtrain.notate.beats.marks import Mark
from tests.simulate.mapping_trials import Trial, every_fourth_bar, first_bars, outcome, trial
from tests.simulate.performances import HELD_OUT, perform, perform_with_jump

SEEDS = (HELD_OUT + 480, HELD_OUT + 481, HELD_OUT + 482)
BAR, BARS = 16, 32


@pytest.fixture(scope="module")
def jumping() -> list[Trial]:
    """Return steady accompanists whose second half is much quicker, or much slower."""
    return [
        trial(perform_with_jump(seed, (BAR, factor), expressive=False, bars=BARS), seed)
        for seed, factor in zip(SEEDS, (0.6, 1.7, 0.6), strict=True)
    ]


def right(trials: list[Trial]) -> float:
    """Return the share of beats that are right from two bars tapped and the last one marked."""
    done = [outcome(first_bars(each), each.performed.beats_s).right for each in trials]
    return float(np.mean(done))


def test_a_new_tempo_at_a_section_is_followed(
    jumping: list[Trial], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Without room for it most beats would be beside; a mark every four bars leaves no doubt."""
    with_room = right(jumping)
    marked = [outcome(every_fourth_bar(each), each.performed.beats_s).right for each in jumping]
    monkeypatch.setattr(rooms, "MORE_ROOM", 1.0)
    assert with_room >= right(jumping) + 0.2
    assert np.mean(marked) >= 0.9


def test_an_even_tempo_gets_no_more_room_than_it_needs(
    jumping: list[Trial], monkeypatch: pytest.MonkeyPatch
) -> None:
    """So nothing changes, and nothing takes longer, where nothing jumps."""

    def windows(each: Trial) -> tuple[tuple[int, int], ...]:
        beats_s = each.performed.beats_s
        last = beats_s.size - 1
        marks = [Mark(beat, float(beats_s[beat])) for beat in (*range(2 * each.bar), last)]
        mean_s = float(np.diff(beats_s).mean())
        return marked_lattice(each.curves, marks, last + 1, (mean_s, 3)).windows

    even = trial(perform(HELD_OUT + 484, expressive=False, bars=BARS), HELD_OUT + 484)
    given = windows(even), [windows(each) for each in jumping]
    monkeypatch.setattr(rooms, "MORE_ROOM", 1.0)
    assert windows(even) == given[0]
    assert [windows(each) for each in jumping] != given[1]


def test_beats_after_the_end_are_refused() -> None:
    """With what to do."""
    flat = Curves(np.zeros(1001), np.zeros((7, 1001)))
    marks = [Mark(0, 8.0), Mark(1, 9.5)]
    with pytest.raises(RequestError, match="ends before the last of these bars"):
        marked_lattice(flat, marks, 9, (1.5, 3))
