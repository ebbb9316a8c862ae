"""Which bars a person is told to hear first: those where a mark helps most."""

from collections.abc import Sequence

from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.notate.beats.asking import UNSURE_CHANCE, downbeat_to_ask, unsure_bars
from rhythmtrain.notate.beats.decoding import SolvedBeat
from rhythmtrain.notate.beats.solver import solve_beats
from tests.simulate.mapping_trials import trial
from tests.simulate.performances import HELD_OUT, perform

BAR = 4
CHANCES = st.lists(st.floats(0, 1), min_size=1, max_size=120)


def beats(chances: Sequence[float]) -> list[SolvedBeat]:
    """Return beats that are as sure as ``chances`` say."""
    return [SolvedBeat(0.5 * number, 0.01, each) for number, each in enumerate(chances)]


def doubtful(*stretches: tuple[int, int, float]) -> list[SolvedBeat]:
    """Return forty bars that are sure, but for stretches from a bar to another of that chance."""
    chances = [0.99] * (40 * BAR)
    for first, stop, chance in stretches:
        chances[first * BAR : stop * BAR] = [chance] * ((stop - first) * BAR)
    return beats(chances)


def test_the_middle_of_a_doubtful_stretch_is_asked_for() -> None:
    """A mark there settles both sides; at its edge it would settle next to nothing."""
    found = doubtful((12, 25, 0.4), (12, 13, 0.3))
    assert 16 <= downbeat_to_ask(found, BAR) // BAR <= 20
    assert 16 <= unsure_bars(found, BAR)[0] <= 20


def test_a_long_doubt_comes_before_a_single_beat_that_nothing_tells() -> None:
    """A beat without a note is always unsure; a mark on it tells nothing of the others."""
    found = doubtful((5, 6, 0.05), (20, 30, 0.3))
    assert 20 <= downbeat_to_ask(found, BAR) // BAR < 30
    assert unsure_bars(found, BAR)[-1] == 5


def test_alone_the_least_certain_bar_is_asked_for() -> None:
    """Where all bars lie near each other, the worst of them."""
    found = beats([0.9] * 4 + [0.2] * 4 + [0.5] * 4)
    assert unsure_bars(found, BAR) == (1, 2)
    assert downbeat_to_ask(found, BAR) == 4


@given(CHANCES, st.integers(1, 5))
def test_every_unsure_bar_is_named_once(chances: list[float], beats_a_bar: int) -> None:
    """None that is unsure is kept from the player, and none that is sure is made doubtful."""
    named = unsure_bars(beats(chances), beats_a_bar)
    unsure = {at // beats_a_bar for at, each in enumerate(chances) if each < UNSURE_CHANCE}
    assert sorted(named) == sorted(unsure)


def test_a_beat_that_was_marked_is_not_asked_for_again() -> None:
    """A person answers once."""
    each = trial(perform(HELD_OUT + 102, expressive=False, bars=8), HELD_OUT + 102)
    count, bar = each.performed.beats_s.size, each.bar
    anchors = {0: each.mark(0), count - bar: each.mark(count - bar)}
    asked = []
    for _ in range(4):
        solved = solve_beats(
            each.curves, beats_a_bar=bar, count=count, anchors=sorted(anchors.items())
        )
        asked.append(downbeat_to_ask(solved.beats, bar, anchors))
        anchors[asked[-1]] = each.mark(asked[-1])
    assert len(set(asked)) == len(asked)
