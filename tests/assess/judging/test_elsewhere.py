"""An entry that was made elsewhere is told where it was made, and nothing is told that was not."""

import numpy as np
import pytest

from rhythmtrain.assess.judging.elsewhere import Elsewhere, Found, elsewhere, heard_better

BEAT_S = 0.8
AIMS_S = np.array([20.0, 20.4, 20.8, 21.6, 22.4])
UNEVEN_S = np.random.default_rng(4).normal(0, 0.02, len(AIMS_S))


def heard(claps_s: list[float], *, end_s: float = 30.0) -> Elsewhere | None:
    """Return what is told of claps in the place of the phrase."""
    return elsewhere(AIMS_S, np.array(claps_s), BEAT_S, end_s=end_s)


@pytest.mark.parametrize("beats", [-13.0, -5.0, -4.5, 4.0, 8.0])
def test_a_phrase_is_known_by_its_rhythm_however_far_it_is(beats: float) -> None:
    """Five beats early is not two bars early, and two bars late is not nothing."""
    claps = AIMS_S + beats * BEAT_S + UNEVEN_S
    found = heard(claps.tolist())
    assert found is not None
    assert found.found is Found.PHRASE
    assert found.beats == pytest.approx(beats, abs=0.1)


def test_of_a_late_phrase_only_what_there_was_time_for_is_asked_for() -> None:
    """The track ends, and the notes after its end are not missing."""
    late = AIMS_S + 4 * BEAT_S
    found = heard(late[:3].tolist(), end_s=float(late[2]) + 0.3)
    assert found is not None
    assert found.found is Found.PHRASE


def test_beats_through_the_rest_are_no_entry() -> None:
    """Whoever is told to clap the beats of the rest did not come in nine beats early."""
    found = heard([20.0 - 9 * BEAT_S + number * BEAT_S for number in range(9)])
    assert found is not None
    assert found.found is Found.BEATS
    assert found.beats == pytest.approx(-9.0)


def test_a_single_clap_is_told_as_what_it_is() -> None:
    """One clap is no rhythm: where it lay can be said, not what it was meant for."""
    found = heard([20.0 + 4 * BEAT_S])
    assert found is not None
    assert found.found is Found.CLAP
    assert found.beats == pytest.approx(4.0)
    assert heard([]) is None


def test_what_comes_after_the_end_of_the_track_is_no_entry() -> None:
    """Hands that are put down, a chair: with nothing before the end, nothing was heard."""
    assert heard([25.0, 25.3], end_s=24.0) is None
    found = heard([20.0 + 2 * BEAT_S, 25.0], end_s=24.0)
    assert found is not None
    assert found.found is Found.CLAP
    assert found.beats == pytest.approx(2.0)


def test_claps_at_random_are_not_heard_as_the_phrase() -> None:
    """Many claps hit some of any rhythm; what lies between them speaks against it."""
    claps = np.sort(np.random.default_rng(2).uniform(10, 20, 60))
    found = heard(claps.tolist())
    assert found is not None
    assert found.found is Found.CLAP


def test_a_class_gives_way_only_to_plainly_more_of_the_phrase() -> None:
    """Half of a rhythm fits beside itself; all of it fits once."""
    claps = AIMS_S - 5 * BEAT_S
    assert heard_better(AIMS_S, claps, BEAT_S, there=-5.0, here=-4.0)
    assert not heard_better(AIMS_S, claps, BEAT_S, there=-5.0, here=-5.1)
