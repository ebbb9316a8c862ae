"""Written signs: every length can be read off, the beats are seen, nothing is lost."""

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.score.countline.countline import read_rhythm
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.notation.notation import NotatedBar, Sign, notated
from rhythmtrain.score.notation.signs import DOTTED, value_of
from rhythmtrain.score.passage import notes_of
from rhythmtrain.storage.drills import load_drill, shipped_drills
from tests.simulate.passages import bar as written_bar

VALUES = {Fraction(4): "w", Fraction(2): "h", Fraction(1): "q", Fraction(1, 2): "8"}
FINER = {Fraction(1, 4): "16", Fraction(1, 8): "32"}


def bars_of(metre: str, rhythm: str) -> tuple[NotatedBar, ...]:
    """Return the bars of a count line in signs."""
    return notated(read_rhythm(rhythm, Metre.parse(metre)).bars)


def told(sign: Sign) -> str:
    """Return a sign in letters: "r8." is a dotted eighth rest, "q~" a quarter that is tied on."""
    value = (VALUES | FINER)[sign.value]
    return f"{'r' * sign.rest}{value}{'.' * sign.dots}{'~' * sign.tied}"


def line(bar: NotatedBar) -> str:
    """Return a bar in letters, the signs of a tuplet between brackets with its ratio."""
    words = []
    for number, tuplet in enumerate(bar.tuplets):
        inside = [told(sign) for sign in bar.signs if sign.tuplet == number]
        words.append((tuplet.start, f"{tuplet.notes}:{tuplet.time}<{' '.join(inside)}>"))
    words += [(sign.at, told(sign)) for sign in bar.signs if sign.tuplet is None]
    return " ".join(word for _, word in sorted(words))


@pytest.mark.parametrize(
    ("metre", "rhythm", "signs"),
    [
        # Common practice, no source: a syncopation of half a beat is one sign …
        ("4/4", "1 2 & [3] & [4] &", "q 8 8~ 8 q 8"),
        # … and the middle of a bar of four is seen.
        ("4/4", "1 & [2] & [3] & 4", "8 q 8~ 8 8 q"),
        ("4/4", "(1) (2) (3) & (4)", "rh r8 8 rq"),
        ("4/4", "1 (2) (3) 4", "q rq rq q"),
        ("4/4", "1 (e) (&) a 2 (e) & 3 4", "16 r16 r16 16 16 r16 8 q q"),
        ("2/4", "1 e [&] a 2 &", "16 8 16 8 8"),
        ("2/4", "1 & 1+2/3 1+5/6 2", "8 3:2<16 16 16> q"),
        ("3/4", "1 la li 2 & 3", "3:2<8 8 8> 8 8 q"),
        ("4/4", "1 li [2] la 3 4", "3:2<q q q> q q"),
        ("3/4", "1 2+1/5 2+2/5 2+3/5 2+4/5 3", "q~ 5:4<16 16 16 16 16> q"),
        ("6/8", "1 ta la li 2 li", "16 16 8 8 q 8"),
        ("6/8", "1 (2)", "q. rq."),
        ("6/8", "1 1+1/2 2", "8. 8. q."),
        ("2/2", "1 & 2 & a", "q q q 8 8"),
        ("5/4", "1 [2] [3] [4] [5]", "w~ q"),
    ],
)
def test_a_bar_is_written_as_a_player_is_used_to_read_it(
    metre: str, rhythm: str, signs: str
) -> None:
    """On paper the rhythm looks as in any part: beats seen, syncopations as one knows them."""
    (bar,) = bars_of(metre, rhythm)
    assert line(bar) == signs


def test_a_note_over_the_bar_line_is_tied() -> None:
    """A tie is a tie also between two bars."""
    first, second = bars_of("2/4", "1 2 & | [1] & 2")
    assert (line(first), line(second)) == ("q 8 8~", "8 8 q")


def test_a_bar_of_rest_has_no_signs() -> None:
    """Its rest is that of the whole bar, whatever the metre."""
    assert [bar.signs for bar in bars_of("3/4", "rest 2 | 1 2 3")][:2] == [(), ()]


def test_short_notes_are_beamed_inside_their_beat() -> None:
    """The eye finds the beats by the beams."""
    (bar,) = bars_of("2/4", "1 e & a 2 &")
    assert bar.beams == ((0, 3), (4, 5))
    (bar,) = bars_of("6/8", "1 la li 2 la li")
    assert bar.beams == ((0, 2), (3, 5))


@pytest.mark.parametrize(
    ("metre", "rhythm", "beams"),
    [
        ("3/8", "1 2 & 3", ((0, 3),)),
        ("4/8", "1 2 3 4", ((0, 1), (2, 3))),
        ("2/8", "1 & 2", ((0, 2),)),
        ("3+2/8", "1 2 3 4 5", ((0, 2), (3, 4))),
        ("6/16", "1 2 3 4 5 6", ((0, 2), (3, 5))),
        ("5/8", "1 2 3 4 5", ()),
    ],
)
def test_where_an_eighth_is_counted_several_share_a_beam(
    metre: str, rhythm: str, beams: tuple[tuple[int, int], ...]
) -> None:
    """A bar of 3/8 with three flags is read by nobody; how 5/8 goes is not known."""
    (bar,) = bars_of(metre, rhythm)
    assert bar.beams == beams


@pytest.mark.parametrize("name", [drill.name for drill in shipped_drills()])
def test_the_signs_of_every_drill_fill_its_bars_and_keep_its_notes(name: str) -> None:
    """What is printed is what is played: every onset, every length, nothing over."""
    passage = load_drill(name).passage
    assert passage is not None
    struck = []
    for bar in notated(passage.bars):
        at = bar.bar.begins
        for sign in bar.signs:
            ratio = Fraction(1) if sign.tuplet is None else bar.tuplets[sign.tuplet].ratio
            assert sign.at == at
            assert sign.value * DOTTED[sign.dots] == sign.length * ratio
            at = sign.stop
        assert at == bar.bar.ends or not bar.signs
        struck += [sign for sign in bar.signs if sign.begins]
    assert len(struck) == len(notes_of(passage.bars))


@given(
    st.lists(st.sampled_from(["", "e", "&", "a"]), min_size=0, max_size=4, unique=True),
    st.sampled_from(["4/4", "3/4", "2/4"]),
)
def test_any_sixteenth_rhythm_is_written_in_single_signs(places: list[str], metre: str) -> None:
    """Whatever stands on sixteenths needs no sign that does not exist."""
    inside = " ".join(place for place in ("e", "&", "a") if place in places)
    (bar,) = bars_of(metre, f"1 {inside} (2) {inside}")
    assert all(value_of(sign.length) for sign in bar.signs)
    assert sum(sign.length for sign in bar.signs) == Metre.parse(metre).length


def test_a_bar_that_begins_between_its_counts_is_filled_from_its_beginning() -> None:
    """An upbeat cut out of a score may begin with a rest that nobody counts."""
    (upbeat,) = notated((written_bar(0, Fraction(7, 2), begins=Fraction(13, 4)),))
    assert [(sign.at, sign.length, sign.rest) for sign in upbeat.signs] == [
        (Fraction(13, 4), Fraction(1, 4), True), (Fraction(7, 2), Fraction(1, 2), False),
    ]  # fmt: skip


def test_a_note_held_over_the_bar_line_keeps_its_pitches() -> None:
    """On five lines the tie leads to the same line."""
    first = written_bar(1, 3)
    first = replace(first, places=(replace(first.places[0], pitches=(61, 64)),))
    _, held = notated((first, written_bar(2, 2, held=(0, 1))))
    assert held.signs[0].pitches == (61, 64)
