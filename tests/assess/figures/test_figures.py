"""The table of figures that are read wrongly, where they stand, and what is said of them."""

from fractions import Fraction
from itertools import pairwise

import numpy as np
import pytest

from rhythmtrain.assess.figures.figures import FIGURES, Chance
from rhythmtrain.assess.figures.places import chances
from rhythmtrain.assess.figures.words import told
from rhythmtrain.assess.findings import Mistake
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from tests.simulate.free_takes import timeline
from tests.simulate.rubato import METRES, make_passage


def places(laid: Timeline) -> dict[tuple[str, int, str], tuple[tuple[int, Fraction], ...]]:
    """Return by (name, bar, count) what each chance moves."""
    found = {}
    for chance in chances(laid):
        note = laid.notes[chance.notes[0]].note
        found[chance.what, note.bar, note.count] = chance.moved
    return found


@pytest.mark.parametrize(
    ("text", "metre", "what", "moved"),
    [
        ("1 [&] a 2 3 4 | 1", "4/4", "dotted played even", {1: "-1/4"}),
        ("1 [2] & 3 4 | 1", "4/4", "dotted played even", {1: "-1/2"}),
        ("1 [&] a 2 3 4 | 1", "4/4", "dotted played as triplet", {1: "-1/12"}),
        ("1 & 2 3 4 | 1", "4/4", "even played dotted", {1: "1/4"}),
        ("1 & 2 3 4 | 1", "4/4", "even played swung", {1: "1/6"}),
        ("1 [la] li 2 3 4 | 1", "4/4", "swung played even", {1: "-1/6"}),
        ("1 & [2] & 3 4 | 1", "4/4", "syncopation moved to the beat", {1: "1/2"}),
        ("1 e [&] a 2 3 4 | 1", "4/4", "syncopation moved to the beat", {1: "1/4"}),
        ("(1) & (2) 3 4 | 1", "4/4", "off-beat moved to the beat", {0: "1/2"}),
        ("1 (2) & 3 4 | 1", "4/4", "off-beat played on the beat", {1: "-1/2"}),
        ("1 2 3 & | [1] & 2 3 4 | 1", "4/4", "dot or tie ignored", {4: "-1/2"}),
        ("1 la li 2 3 4 | 1", "4/4", "triplet as eighth and two sixteenths", {1: "1/6", 2: "1/12"}),
        ("1 & a 2 3 4 | 1", "4/4", "eighth and two sixteenths as triplet", {1: "-1/6", 2: "-1/12"}),
        ("1 e & 2 3 4 | 1", "4/4", "two sixteenths and eighth turned round", {1: "1/4", 2: "1/4"}),
        ("1 la li 2 | 1 2 | 1", "2/2", "triplet as quarter and two eighths", {1: "1/3", 2: "1/6"}),
        ("1 [la] li 2 | 1", "6/8", "long-short played even", {1: "-1/4"}),
        ("1 la [li] 2 | 1", "6/8", "short-long played even", {1: "1/4"}),
        ("1 [la] ta li 2 | 1", "6/8", "dotted played even", {1: "-1/4"}),
        ("1 (2) 3 4 | 1", "4/4", "rest one beat short", {1: "-1"}),
        ("1 (2) 3 4 | 1", "4/4", "rest one beat long", {1: "1"}),
        ("1 [2] [3] 4 | 1", "4/4", "long note one beat short", {1: "-1"}),
        ("1 2 3 4 | 1", "4/4", "bar rushed", {1: "-3/10", 2: "-3/5", 3: "-9/10"}),
    ],
)
def test_each_figure_is_found_with_its_shape(
    text: str, metre: str, what: str, moved: dict[int, str]
) -> None:
    """A mistake can be named only where its figure is seen, each note moved as far as it goes."""
    found = {chance.what: chance for chance in chances(timeline(text, metre=metre))}
    assert dict(found[what].moved) == {note: Fraction(by) for note, by in moved.items()}


def test_a_rest_carries_all_that_follows_with_it() -> None:
    """Whoever comes in a beat early goes on a beat early."""
    found = {chance.what: chance for chance in chances(timeline("1 (2) 3 4 | 1"))}
    assert found["rest one beat short"].after == -1
    assert found["bar rushed"].after == Fraction(-6, 5)


def test_the_last_bars_may_slow_down() -> None:
    """A slow ending is no dragged bar."""
    dragged = [bar for what, bar, _ in places(timeline("1 2 3 4 |" * 5)) if what == "bar dragged"]
    assert dragged == [1, 2, 3]


def test_nothing_reaches_from_one_run_into_the_next() -> None:
    """What lies between two repeats is no rest of the passage."""
    laid = timeline("1 2 3 4 | 1 2 3 (4)", practice=Practice(repeats=2, between=1))
    for chance in chances(laid):
        assert len({laid.notes[note].run for note in chance.notes}) == 1
    assert not [chance for chance in chances(laid) if chance.what.startswith("rest")]


def test_only_the_players_own_notes_are_asked() -> None:
    """Bars that are only listened to cannot be played wrongly."""
    laid = timeline("1 & 2 3 4 | 1 2 3 4", practice=Practice(echo=1))
    asked = {note for chance in chances(laid) for note in chance.notes}
    assert asked
    assert all(laid.notes[note].expected for note in asked)


@pytest.mark.parametrize("metre", sorted(set(METRES)))
def test_every_shape_keeps_the_notes_in_order_and_is_asked_once(metre: str) -> None:
    """A wrong reading is still a way of playing: its notes come one after the other."""
    laid = lay_out(make_passage(np.random.default_rng(sum(metre.encode())), metre=metre))
    found = chances(laid)
    assert len({(chance.moved, chance.after) for chance in found}) == len(found)
    for chance in found:
        assert _in_order(laid, chance), chance


def _in_order(laid: Timeline, chance: Chance) -> bool:
    at = [note.at for note in laid.notes]
    for note, by in chance.moved:
        at[note] += by
    last = chance.moved[-1][0]
    at[last + 1 :] = [place + chance.after for place in at[last + 1 :]]
    first = chance.moved[0][0]
    return all(before < after for before, after in pairwise(at[first:]))


def test_every_figure_is_wrong_somewhere_and_right_in_length() -> None:
    """A table row that moves nothing, or loses a note, could never be told."""
    for figure in FIGURES:
        assert figure.written != figure.played
        assert len(figure.written) == len(figure.played)
        assert list(figure.played) == sorted(figure.played)


def test_every_name_has_its_sentence() -> None:
    """A player reads where it was and how it sounded."""
    texts = ("1 [&] a 2 & 3 la li 4 & a | 1 e & 2 & [3] & 4 | (1) & 2 3 [4] | [1] & 2 (3) & 4 | 1",)
    names = {chance.what for text in texts for chance in chances(timeline(text))}
    names |= {figure.what.format(half="eighth", quarter="sixteenth") for figure in FIGURES}
    for what in sorted(names):
        said = told(Mistake(7, "2", what, (3, 4), 1, 1))
        assert "bar 7" in said
        assert "{" not in said
