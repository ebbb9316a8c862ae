"""Where the cue of an entry comes too: from the cue line, or from what is known of the accompanist."""

from dataclasses import replace
from fractions import Fraction

import pytest

from rhythmtrain.assess.wrong_cue import same_cues, searched
from rhythmtrain.timing.timeline import Timeline, lay_out
from tests.simulate.passages import bar, passage

ENTRY_BAR = 11
FIGURE = (Fraction(0), Fraction(1, 2), Fraction(2))
OTHER = (Fraction(0), Fraction(1), Fraction(3))
Strokes = tuple[tuple[Fraction, float], ...]


def timeline(strokes: Strokes = ()) -> Timeline:
    """Return two bars, eight bars of rest, an entry, with ``strokes`` of the accompanist."""
    rests = [bar(number) for number in range(3, ENTRY_BAR)]
    bars = [bar(1, 0, 1, 2, 3), bar(2, 0, 2), *rests, bar(ENTRY_BAR, 0, 1, 2, 3), bar(12, 0, 2)]
    return replace(lay_out(passage(*bars, tempo=72)), strokes=strokes)


def strokes(*cues: int) -> Strokes:
    """Return strokes of which bars ``cues`` have the figure, all others one of their own."""
    found = []
    for number in range(1, 13):
        figure = FIGURE if number in cues else tuple(at + Fraction(number, 24) for at in OTHER)
        found += [(4 * (number - 1) + at, 1.0) for at in figure]
    return tuple(found)


def unsure_in(number: int, known: Strokes, count: int) -> Strokes:
    """Return ``known`` with ``count`` more strokes in bar ``number`` that may be none."""
    more = [(4 * (number - 1) + 3 + Fraction(each, 7), 0.5) for each in range(count)]
    return tuple(sorted((*known, *more)))


def places(strokes: Strokes) -> list[tuple[int, float]]:
    """Return the bars and beats from the entry of the places after the same cue."""
    return [(cue.bar, cue.beats) for cues in same_cues(timeline(strokes)).values() for cue in cues]


def test_the_same_strokes_before_another_bar_are_the_same_cue() -> None:
    """Bar 7 ends as bar 10 does, so a listener may come in at bar 8."""
    assert places(strokes(7, 10)) == [(8, -12.0)]


def test_a_cue_that_comes_once_is_like_no_other() -> None:
    """Then nobody followed the wrong one."""
    assert places(strokes(10)) == []


@pytest.mark.parametrize("number", [7, 10])
def test_of_what_is_heard_one_stroke_may_be_unsure(number: int) -> None:
    """A soft note under a chord hides no cue; with more in doubt none is blamed."""
    assert places(unsure_in(number, strokes(7, 10), 1)) == [(8, -12.0)]
    assert places(unsure_in(number, strokes(7, 10), 2)) == []
    assert places(unsure_in(5, strokes(7, 10), 2)) == [(8, -12.0)]


def test_a_stroke_in_doubt_makes_nothing_the_same() -> None:
    """Bar 7 has a note more than bar 10, and one that may be none."""
    more = tuple(sorted((*strokes(7, 10), (Fraction(4 * 6 + 1), 1.0))))
    assert places(more) == []
    assert places(unsure_in(7, more, 1)) == []


def test_chances_add_up() -> None:
    """Many strokes that are a little unsure are as much in doubt as one that is very unsure."""
    for chance, found in ((0.95, [(8, -12.0)]), (0.75, [])):
        known = tuple((at, chance if at < 4 * 9 else sure) for at, sure in strokes(7, 10))
        assert places(known) == found


def test_an_accompaniment_that_goes_on_and_on_is_no_cue() -> None:
    """Even quarters lead to every beat, though the piece ends before they have come often."""
    even = tuple((Fraction(at), 1.0) for at in range(4 * (ENTRY_BAR - 2) - 1, 4 * ENTRY_BAR - 3))
    assert places(even) == []


def test_it_is_asked_for_as_far_as_a_cue_may_come() -> None:
    """Through the rest, with the two bars of its own notes before it, and four bars on."""
    whole = timeline()
    assert searched(whole, whole.entries[0]) == (Fraction(0), Fraction(4 * ENTRY_BAR + 12))
