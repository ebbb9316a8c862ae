"""The measures of syncopation against published and re-derived values.

Sources: Gómez, Melvin, Rappaport & Toussaint 2005 (Fig. 8 and 11: onsets, Keith's count,
off-beatness, WNBD); metric complexity by the rule of Toussaint 2002, Keith's weighted count by
Keith 1991 and the strongest-rest reading of Longuet-Higgins & Lee 1984, all three calculated by
hand from the stated rules; the package ``amads`` for what it measures too.
"""

import warnings
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError
from rhythmtrain.score.difficulty.syncopation import (
    EndsOnSecondBeat,
    even_levels,
    keith,
    keith_weighted,
    longuet_higgins_lee,
    metric_complexity,
    note_to_beat,
    off_beatness,
    weights,
)

with warnings.catch_warnings():
    warnings.simplefilter("ignore")  # a library that amads imports warns about another one
    from amads.time.meter.syncopation import SyncopationMetric
    from amads.time.rhythm import keith_via_toussaint
    from amads.time.rhythm import off_beatness as amads_off_beatness

SIXTEEN = weights(even_levels((2, 2, 2, 2)), 16)

# onsets; metric complexity; Keith's count; Keith weighted; off-beatness; WNBD as printed; WNBD
# with "ends exactly on the second beat" counted twice; LHL strongest rest
CLAVES = {
    "shiko": ((0, 4, 6, 10, 12), 2, 1, 3, 0, (6, 5), (6, 5), 2),
    "son": ((0, 3, 6, 10, 12), 4, 2, 6, 1, (14, 5), (14, 5), 4),
    "rumba": ((0, 3, 7, 10, 12), 5, 2, 6, 2, (18, 5), (18, 5), 5),
    "soukous": ((0, 3, 6, 10, 11), 6, 3, 8, 2, (18, 5), (22, 5), 6),
    "gahu": ((0, 3, 6, 10, 14), 5, 3, 9, 1, (18, 5), (18, 5), 5),
    "bossa-nova": ((0, 3, 6, 10, 13), 6, 3, 9, 2, (4, 1), (4, 1), 6),
}
# onsets; off-beatness; WNBD, twelve pulses in beats of three
TIMELINES = {
    "soli": ((0, 2, 4, 6, 8, 9, 11), 1, (15, 7)),
    "tambu": ((0, 2, 4, 6, 7, 9, 11), 2, (15, 7)),
    "bembe": ((0, 2, 4, 5, 7, 9, 11), 3, (3, 1)),
    "bembe-2": ((0, 1, 3, 5, 6, 8, 10), 2, (15, 7)),
    "yoruba": ((0, 2, 4, 5, 7, 9, 10), 2, (3, 1)),
    "tonada": ((0, 2, 3, 5, 6, 8, 10), 1, (15, 7)),
    "asaadua": ((0, 2, 4, 6, 7, 9, 10), 1, (15, 7)),
    "sorsonet": ((0, 1, 2, 4, 6, 8, 10), 1, (3, 1)),
    "bemba": ((0, 2, 3, 5, 7, 9, 10), 2, (15, 7)),
    "ashanti": ((0, 2, 3, 5, 7, 8, 10), 2, (3, 1)),
}
LHL = [
    ((0, 4, 8, 12), 0),
    ((0, 6, 12), 2),
    ((0, 3, 6, 8, 11, 14), 4),
    ((2, 6, 10, 14), 7),
    ((1, 5, 9, 13), 11),
    ((4,), 2),
]
rhythms = st.lists(st.integers(0, 15), min_size=1, max_size=16, unique=True).map(sorted)


def as_vector(onsets: list[int] | tuple[int, ...], pulses: int) -> list[int]:
    """Return the rhythm as one 0 or 1 a pulse."""
    return [int(pulse in onsets) for pulse in range(pulses)]


@pytest.mark.parametrize("name", CLAVES)
def test_sixteen_pulse_rhythms_have_their_published_values(name: str) -> None:
    """What orders a player's hard bars is the measure that was published, not a likeness."""
    onsets, complexity, count, weighted, off, printed, literal, lhl = CLAVES[name]
    assert metric_complexity(onsets, SIXTEEN) == complexity
    assert keith(onsets, 16) == count
    assert keith_weighted(onsets, 16) == weighted
    assert off_beatness(onsets, 16) == off
    assert note_to_beat(onsets, 16, beat=4) == Fraction(*printed)
    twice = note_to_beat(onsets, 16, beat=4, on_second=EndsOnSecondBeat.TWICE)
    assert twice == Fraction(*literal)
    assert longuet_higgins_lee(onsets, SIXTEEN) == lhl


@pytest.mark.parametrize("name", TIMELINES)
def test_twelve_pulse_rhythms_have_their_published_values(name: str) -> None:
    """Compound metres are measured as surely as simple ones."""
    onsets, off, distance = TIMELINES[name]
    assert off_beatness(onsets, 12) == off
    assert note_to_beat(onsets, 12, beat=3) == Fraction(*distance)


@pytest.mark.parametrize(("onsets", "value"), LHL)
def test_strongest_rest_reading_of_longuet_higgins_and_lee(
    onsets: tuple[int, ...], value: int
) -> None:
    """Each note counts once, by the strongest beat it sounds through."""
    assert longuet_higgins_lee(onsets, SIXTEEN) == value


def test_weights_of_sixteen_pulses_are_the_usual_ones() -> None:
    """The table that open implementations print for a bar of sixteenths."""
    assert SIXTEEN == (0, -4, -3, -4, -2, -4, -3, -4, -1, -4, -3, -4, -2, -4, -3, -4)


def test_weights_follow_any_beat_structure() -> None:
    """6/8 divides in two and three; 3+2/8 has its second beat on the fourth eighth."""
    assert weights(even_levels((2, 3)), 6) == (0, -2, -2, -1, -2, -2)
    assert weights([(0,), (0, 3), range(5)], 5) == (0, -2, -2, -1, -2)
    assert weights([(0,), (0, 2)], 4) == (0, -2, -1, -2)


@settings(deadline=None)
@given(rhythms.map(lambda onsets: sorted({0, *onsets})))
def test_agrees_with_an_independent_package(onsets: list[int]) -> None:
    """Keith's count, off-beatness and WNBD as printed, on any rhythm from the downbeat (its wrap needs one)."""
    vector = as_vector(onsets, 16)
    assert keith(onsets, 16) == keith_via_toussaint(vector)
    assert off_beatness(onsets, 16) == amads_off_beatness(vector)
    beats = [Fraction(at, 4) for at in onsets]
    theirs = SyncopationMetric().weighted_note_to_beat_distance(beats, Fraction(4))
    assert note_to_beat(onsets, 16, beat=4) == theirs


@settings(deadline=None)
@given(rhythms, st.integers(0, 3))
def test_a_turn_by_whole_beats_keeps_the_distance_to_the_beat(onsets: list[int], by: int) -> None:
    """WNBD knows beats but no bar, so turning the cycle by beats changes nothing."""
    turned = sorted((at + 4 * by) % 16 for at in onsets)
    assert note_to_beat(turned, 16, beat=4) == note_to_beat(onsets, 16, beat=4)


@settings(deadline=None)
@given(rhythms)
def test_a_rhythm_twice_is_twice_as_syncopated(onsets: list[int]) -> None:
    """Two bars alike add up; so a longer passage is not harder for each of its notes."""
    twice = [*onsets, *(at + 16 for at in onsets)]
    assert longuet_higgins_lee(twice, SIXTEEN * 2) == 2 * longuet_higgins_lee(onsets, SIXTEEN)
    assert keith_weighted(twice, 32) == 2 * keith_weighted(onsets, 16)
    assert note_to_beat(twice, 32, beat=4) == note_to_beat(onsets, 16, beat=4)


@settings(deadline=None)
@given(rhythms)
def test_the_next_bar_alike_is_the_same_as_a_cycle(onsets: list[int]) -> None:
    """Naming the next bar's first note or letting the bar come round gives one answer."""
    then = onsets[0] + 16
    assert longuet_higgins_lee(onsets, SIXTEEN, then=then) == longuet_higgins_lee(onsets, SIXTEEN)
    assert keith(onsets, 16, then=then) == keith(onsets, 16)
    assert note_to_beat(onsets, 16, beat=4, then=then) == note_to_beat(onsets, 16, beat=4)


@settings(deadline=None)
@given(rhythms)
def test_complexity_stays_within_its_bounds(onsets: list[int]) -> None:
    """0 for the strongest places, never more than the range of as many weights."""
    most = sum(sorted(SIXTEEN)[16 - len(onsets) :]) - sum(sorted(SIXTEEN)[: len(onsets)])
    assert 0 <= metric_complexity(onsets, SIXTEEN) <= most


def test_weights_read_the_same_backwards() -> None:
    """An evenly divided bar is symmetrical about its downbeat."""
    for divisions in ((2, 2, 2, 2), (2, 3), (3, 2, 2), (5, 2)):
        levels = even_levels(divisions)
        found = weights(levels, len(levels[-1]))
        assert found[1:] == found[:0:-1]


def test_silence_is_not_syncopated() -> None:
    """A bar of rest asks for counting, not for rhythm."""
    assert longuet_higgins_lee((), SIXTEEN) == 0
    assert keith((), 16) == 0
    assert off_beatness((), 16) == 0
    assert off_beatness((0,), 1) == 0
    assert note_to_beat((), 16, beat=4) == 0


def test_what_is_no_rhythm_is_refused() -> None:
    """A slip in the caller must not come out as a number."""
    with pytest.raises(RequestError, match="at least 1 pulse"):
        off_beatness((), 0)
    with pytest.raises(RequestError, match="go forward"):
        off_beatness((3, 3), 16)
    with pytest.raises(RequestError, match="0 to 15"):
        off_beatness((3, 16), 16)
    with pytest.raises(RequestError, match="power of 2"):
        keith((0, 3), 12)
    with pytest.raises(RequestError, match="beats of 5"):
        note_to_beat((0, 3), 16, beat=5)
    with pytest.raises(RequestError, match="before pulse 16"):
        keith((0, 3), 16, then=4)
    with pytest.raises(RequestError, match="1 or more parts"):
        even_levels((2, 0))
