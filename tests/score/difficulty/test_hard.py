"""Hard spots: every named cause by a passage that has only it, and nothing where nothing is hard."""

from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.difficulty.bar_pulses import MOST_PULSES, levels_of, pulses_of, syncopation
from rhythmtrain.score.difficulty.hard import Cause, HardSpot, hard_spots
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Passage
from rhythmtrain.units import Bpm


def passage(
    text: str, metre: str = "4/4", *, tempo: float = 60, beat: str | None = None
) -> Passage:
    """Return the passage of a count line."""
    return Passage("", Bpm(tempo), read_bars(text, Metre.parse(metre, beat=beat)))


def spots(text: str, metre: str = "4/4", *, tempo: float = 60) -> tuple[HardSpot, ...]:
    """Return the hard spots of a count line."""
    return hard_spots(passage(text, metre, tempo=tempo))


def joined(bars: list[list[str]]) -> str:
    """Return a count line of beats given as patterns; a hold after silence becomes silence."""
    lines, before = [], ""
    for bar in bars:
        beats = []
        for number, pattern in enumerate(bar, 1):
            after_silence = before == "({})" and pattern.startswith("[")
            before = "({})" if after_silence else pattern
            beats.append(before.format(number))
        lines.append(" ".join(beats))
    return " | ".join(lines)


# cause; metre; count line; what a player reads
ONLY = [
    (Cause.OFF_BEAT, "4/4", "(1) & 2 3 4", "starts off the beat, on the and of 1"),
    (Cause.OVER_BEAT, "4/4", "1 2 & [3] 4", "the and of 2 ties over beat 3"),
    (Cause.OVER_BAR, "4/4", "1 2 3 4 | [1] 2 3 4", "beat 4 ties over the bar line"),
    (Cause.INSIDE_BEAT, "4/4", "1 e [&] a 2 3 4", "the e of 1 is held over the and of 1"),
    (
        Cause.SUBDIVISION,
        "4/4",
        "1 e & a 2 la li 3 4",
        "changes from sixteenths to triplets on beat 2",
    ),
    (Cause.ACROSS, "4/4", "1 1+2/3 2+1/3 3 4", "three even notes over beats 1 and 2"),
    (Cause.UNEQUAL, "5/8", "1 2 3 4 5", "unequal groups: 5/8"),
    (Cause.UNEQUAL, "3+2/8", "1 2 3 4 5", "unequal groups: 3+2/8"),
    (
        Cause.BEAT,
        "2/4",
        "1 2 | metre 6/8 1 2",
        "the beat changes from quarter to dotted quarter",
    ),
]


@pytest.mark.parametrize(("cause", "metre", "text", "words"), ONLY)
def test_each_cause_has_a_passage_with_only_it(
    cause: Cause, metre: str, text: str, words: str
) -> None:
    """A player reads the one thing that is hard here, in words."""
    (spot,) = spots(text, metre)
    assert spot.causes == (cause,)
    assert spot.why == (words,)
    assert spot.score >= 1


def test_fast_notes_depend_on_the_tempo_alone() -> None:
    """Sixteenths are 208 ms apart at 72 and 197 ms at 76: only the second is fast."""
    text = "1 e & a 2 3 4"
    assert spots(text, tempo=72) == ()
    (spot,) = spots(text, tempo=76)
    assert spot.causes == (Cause.FAST,)
    assert spot.why == ("fast sixteenths at quarter = 76",)
    (british,) = hard_spots(passage(text, tempo=76), british=True)
    assert british.why == ("fast semiquavers at crotchet = 76",)


def test_fast_notes_follow_tempo_marks() -> None:
    """A passage that speeds up gets hard where it has become fast."""
    text = "1 e & a 2 3 4 | tempo 90 1 e & a 2 3 4"
    (spot,) = spots(text, tempo=60)
    assert spot.bar == 2
    assert spot.why == ("fast sixteenths at quarter = 90",)
    (odd,) = spots("1 1+1/5 1+2/5 2 3 4", tempo=90)
    assert "fast notes at quarter = 90" in odd.why


def test_off_beat_start_and_tie_are_one_sentence() -> None:
    """What one note does is said once."""
    (spot,) = spots("1 (2) & [3] 4")
    assert spot.why == ("starts off the beat, on the and of 2, and ties over beat 3",)
    assert spot.causes == (Cause.OFF_BEAT, Cause.OVER_BEAT)
    (over,) = spots("1 2 3 (4) & | [1] 2 3 4")
    assert over.why == ("starts off the beat, on the and of 4, and ties over the bar line",)


def test_only_the_first_note_of_a_beat_comes_in_off_it() -> None:
    """After the off-beat start the next sixteenth simply follows."""
    (spot,) = spots("(1) & a 2 3 4")
    assert spot.why == ("starts off the beat, on the and of 1",)


def test_notes_alike_share_a_sentence() -> None:
    """Four off-beats are one thing to practise, not four."""
    (twice,) = spots("(1) & (2) & 3 4")
    assert twice.why == ("starts off the beat, on the and of 1, and again on the and of 2",)
    (often,) = spots("(1) & (2) & (3) & 4")
    assert often.why == ("starts off the beat, on the and of 1, and 2 more times",)


@pytest.mark.parametrize(
    ("metre", "text"),
    [
        ("4/4", "1 2 3 4 | 1 2 3 4"),
        ("4/4", "1 & 2 & 3 4"),
        ("4/4", "1 e & a 2 & 3 [4]"),
        ("4/4", "1 [2] & 3 [4]"),  # dotted quarter and eighth
        ("4/4", "1 (2) 3 4 | rest 3 | 1 2 3 4"),
        ("4/4", "1 [2 3 4] | [1 2 3 4] | 1"),
        ("4/4", "1 & 2 e & a 3 & 4"),  # eighths fit into sixteenths
        ("6/8", "1 la li 2 li"),
        ("6/8", "1 la 2 ta la ta li ta"),
        ("5/4", "1 2 3 4 5"),
        ("4/4", "4 | 1 2 3 4"),
        ("4/4", "1 1+1/7 2 3 4"),
        ("4/4", "1 la [li] 2 3 4"),
        ("6/8", "1 1+1/2 2"),
    ],
)
def test_plain_bars_are_not_hard(metre: str, text: str) -> None:
    """A player who is told that everything is hard learns nothing."""
    assert spots(text, metre, tempo=40) == ()


def test_half_a_triplet_over_two_beats_is_a_tie() -> None:
    """Without its third note the second simply sounds through the beat."""
    (spot,) = spots("1 1+2/3 [2] & 3 4")
    assert spot.causes[0] is Cause.OVER_BEAT
    (again,) = spots("1 1+2/3 2+1/3 3 3+2/3 4+1/3")
    assert again.why == ("three even notes over beats 1 and 2, and again on beats 3 and 4",)


def test_compound_beats_have_stronger_places_of_their_own() -> None:
    """In 6/8 a sixteenth held over an eighth is off the count, an eighth is not."""
    (spot,) = spots("1 ta [la] li 2", "6/8")
    assert spot.causes == (Cause.INSIDE_BEAT,)
    (later,) = spots("1 la ta [li] 2", "6/8")
    assert later.causes == (Cause.INSIDE_BEAT,)


@pytest.mark.parametrize(
    ("metre", "text", "words"),
    [
        ("4/4", "1 & 2 la li 3 4", "changes from eighths to triplets on beat 2"),
        ("6/8", "1 la li 2 2+1/2", "changes from eighths to duplets on beat 2"),
        ("4/4", "1 la li 2 2+1/5 2+2/5 3 4", "changes from triplets to quintuplets on beat 2"),
        ("4/4", "1 la li 2 2+1/11 3 4", "changes from triplets to 11 to the beat on beat 2"),
        ("4/4", "1 la li 2 3 4 | 1 & 2 3 4", "changes from triplets to eighths on beat 1"),
        ("6/8", "1 1+1/4 2 la li", "changes from quadruplets to eighths on beat 2"),
    ],
)
def test_subdivisions_have_the_names_musicians_use(metre: str, text: str, words: str) -> None:
    """Eighths, triplets, duplets: not "division by 3"."""
    reasons = [reason for spot in spots(text, metre) for reason in spot.why]
    assert words in reasons


def test_a_change_of_subdivision_two_bars_later_is_none() -> None:
    """After a bar of plain beats nobody remembers the triplets."""
    assert spots("1 la li 2 3 4 | 1 2 3 4 | 1 & 2 3 4") == ()


def test_more_syncopated_bars_come_first_in_order() -> None:
    """The score puts the bar to practise first at the top."""
    mild, strong = spots("1 2 & [3] 4 | (1) & [2] & [3] & [4] &")
    assert strong.score > mild.score


def test_the_published_measures_serve_inside() -> None:
    """Son scores as its four measures average: LHL 4, off-beatness 1, WNBD 14, Keith 6."""
    onsets = tuple(Fraction(at, 4) for at in (0, 3, 6, 10, 12))
    found = syncopation(Metre.parse("4/4"), onsets, Fraction(4))
    assert found == pytest.approx((4 + 1 + 14 + 6) / 4)


def test_bars_finer_than_any_notation_are_still_shown() -> None:
    """A thousandth of a beat has no pulses to measure, and breaks nothing."""
    fine = (Fraction(0), Fraction(1, 997))
    assert pulses_of(Metre.parse("4/4"), fine) is None
    assert syncopation(Metre.parse("4/4"), fine) == 0
    assert pulses_of(Metre.parse("4/4"), ()) == 16
    assert MOST_PULSES >= 16


def test_groups_are_a_level_of_their_own() -> None:
    """In 3+2/8 the fourth eighth is stronger than its neighbours."""
    metre = Metre.parse("3+2/8")
    pulses = pulses_of(metre, ())
    assert pulses == 20
    assert levels_of(metre, 20)[1] == (0, 12)
    assert syncopation(Metre.parse("3+2/8", beat="group"), (Fraction(1, 2),)) > 0


places = st.lists(
    st.sampled_from(["{}", "({})", "{} &", "({}) &", "{} e & a", "{} la li", "[{}] &", "{} a"]),
    min_size=4,
    max_size=4,
)


@settings(deadline=None, max_examples=50)
@given(st.lists(places, min_size=1, max_size=4), st.sampled_from([40, 90, 200]))
def test_every_hard_spot_is_a_bar_of_the_passage_with_a_reason(
    bars: list[list[str]], tempo: float
) -> None:
    """Whatever is written, each hard bar exists, is named once, and says why."""
    text = joined(bars)
    whole = passage(f"1 2 3 4 | {text}", tempo=tempo)
    found = hard_spots(whole)
    numbers = [spot.bar for spot in found]
    assert numbers == sorted(set(numbers))
    assert set(numbers) <= {bar.number for bar in whole.bars}
    assert all(spot.why and spot.causes and spot.score >= 1 for spot in found)


@settings(deadline=None, max_examples=50)
@given(st.lists(places, min_size=1, max_size=3))
def test_what_comes_before_does_not_make_a_later_bar_easier(bars: list[list[str]]) -> None:
    """Two plain bars in front change no cause of what follows."""
    text = joined(bars)
    once = spots(f"1 2 3 4 | {text}")
    later = spots(f"1 2 3 4 | 1 2 3 4 | {text}")
    assert [(spot.bar + 1, spot.why) for spot in once] == [(spot.bar, spot.why) for spot in later]
