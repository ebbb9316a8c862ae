"""How sure a map says it is of each beat."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.notate.beats import beliefs
from rhythmtrain.notate.beats.asking import UNSURE_CHANCE
from rhythmtrain.notate.beats.decoding import SolvedBeat
from rhythmtrain.notate.beats.doubts import doubted, mixed
from rhythmtrain.notate.beats.lattice import Posterior
from tests.simulate.mapping_trials import every_fourth_bar, outcome, trial
from tests.simulate.performances import HELD_OUT, perform

# Plays every four bars as an arc, slow where the marks stand: a third of a beat off between them.
LINGERING = HELD_OUT + 11


def sure_and_wrong() -> tuple[int, int]:
    """Return how many beats of the lingering player are wrong, and how many of these look sure."""
    each = trial(perform(LINGERING, expressive=True, bars=32), LINGERING)
    found = outcome(every_fourth_bar(each), each.performed.beats_s)
    wrong = np.abs(found.errors_s) >= 0.07
    return int(wrong.sum()), int((wrong & (found.chance >= UNSURE_CHANCE)).sum())


def test_a_player_who_lingers_at_every_mark_is_not_mapped_with_certainty(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """Marks that lie evenly hide what happens between them; the map must say so."""
    wrong, sure = sure_and_wrong()
    assert wrong > 20
    assert sure <= 0.1 * wrong
    monkeypatch.setattr(beliefs, "SPREAD_SHARE", 1e9)
    wrong, sure = sure_and_wrong()
    assert sure > 0.25 * wrong


@given(
    st.lists(
        st.tuples(st.integers(0, 40), st.lists(st.floats(0.01, 1), min_size=1, max_size=30)),
        min_size=1,
        max_size=4,
    ),
    st.data(),
)
def test_what_several_lattices_say_is_a_chance_again(
    said: list[tuple[int, list[float]]], data: st.DataObject
) -> None:
    """Chances sum to 1, and where one lattice alone sees the beat it counts by its share."""
    found = [Posterior(start, np.array(each) / sum(each)) for start, each in said]
    drawn = data.draw(st.lists(st.floats(0.1, 1), min_size=len(found), max_size=len(found)))
    shares = [each / sum(drawn) for each in drawn]
    whole = mixed(shares, found)
    assert whole.chance.sum() == pytest.approx(1)
    frames = whole.start + np.arange(whole.chance.size)
    middle = sum(
        share * float((each.start + np.arange(each.chance.size)) @ each.chance)
        for share, each in zip(shares, found, strict=True)
    )
    assert frames @ whole.chance == pytest.approx(middle)


def test_a_beat_is_as_sure_as_the_careful_lattices_are_near_it() -> None:
    """What a freer tempo allows is doubt; the error to judge with is that of the likeliest tempo."""
    beat = SolvedBeat(1.0, 0.008, 1.0)
    near, far = Posterior(100, np.ones(1)), Posterior(150, np.ones(1))
    freer = mixed((0.75, 0.25), (near, far))
    told = doubted(beat, (near, freer), 0.01)
    assert told.chance == pytest.approx(0.75)
    assert told.uncertainty_s == pytest.approx(0.008)
    assert told.time_s == beat.time_s
    assert doubted(beat, (freer, freer), 0.01).uncertainty_s > 0.2
