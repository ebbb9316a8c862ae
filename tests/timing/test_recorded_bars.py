"""A passage laid on a recording: which bars of the map are its own, and what does not fit."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError
from rhythmtrain.score.countline.countline import read_rhythm
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat
from rhythmtrain.timing.recorded_bars import held_bars, map_passage
from rhythmtrain.units import Bpm


def passage_of(rhythm: str, metre: str = "3/4") -> Passage:
    """Return the passage written as ``rhythm``."""
    return Passage("Invented", Bpm(90.0), read_rhythm(rhythm, Metre.parse(metre)).bars)


def a_map(bars: range, beats: int = 3, *, start_s: float = 2.0, beat_s: float = 0.5) -> BeatMap:
    """Return a map of whole bars, every beat as long as the other."""
    places = [(bar, beat) for bar in bars for beat in range(1, beats + 1)]
    return BeatMap(
        tuple(MappedBeat(start_s + beat_s * n, *place, 0.01) for n, place in enumerate(places))
    )


WALTZ = passage_of("1 2 3 | (1) 2 3 | 1 [2] 3 | 1 2 (3)")


def test_a_written_place_is_found_in_the_recording() -> None:
    """Bar 2 beat 1 is where the map says, also through bars of introduction before it."""
    mapped = map_passage(WALTZ, a_map(range(5)))
    assert mapped.second(Fraction(0)) == pytest.approx(3.5)
    assert mapped.second(Fraction(3)) == pytest.approx(5.0)
    assert mapped.quarter(5.0) == pytest.approx(3.0)
    assert mapped.quarters[0] == -3
    assert [int(start) for start in mapped.starts] == [0, 3, 6, 9]
    assert mapped.uncertainty_s(Fraction(1)) == 0.01


def test_an_excerpt_lies_where_its_bars_do() -> None:
    """Practising bars 3 to 4 takes them from the middle of the recording."""
    mapped = map_passage(excerpt(WALTZ, 3, 4), a_map(range(1, 5)), whole=WALTZ)
    assert mapped.second(Fraction(0)) == pytest.approx(5.0)
    assert mapped.quarters[0] == -6


@given(st.integers(1, 4), st.integers(0, 3))
def test_an_excerpt_falls_at_the_seconds_of_the_whole(first: int, more: int) -> None:
    """Cutting bars out moves nothing in the recording."""
    last = min(first + more, 4)
    whole = map_passage(WALTZ, a_map(range(6)))
    part = map_passage(excerpt(WALTZ, first, last), a_map(range(6)), whole=WALTZ)
    for start, at in zip(part.starts, whole.starts[first - 1 : last], strict=True):
        assert part.second(start) == pytest.approx(whole.second(at))


def test_an_upbeat_is_the_end_of_bar_0() -> None:
    """The map of a piece with an upbeat begins at its last beat."""
    passage = passage_of("3 | 1 2 3 | 1 2")
    beats = (MappedBeat(1.0, 0, 3), *a_map(range(1, 3)).beats)
    mapped = map_passage(passage, BeatMap(beats))
    assert mapped.second(Fraction(-1)) == pytest.approx(1.0)
    assert mapped.second(Fraction(0)) == pytest.approx(2.0)


def test_repeats_that_the_recording_plays_are_numbered_on() -> None:
    """The second time is another place of the recording."""
    passage = passage_of("|: 1 2 3 | 1 2 3 :| 1 2 3")
    played = map_passage(passage, a_map(range(1, 6)))
    assert [int(start) for start in played.starts] == [0, 3, 6, 9, 12]
    left_out = map_passage(passage, a_map(range(1, 4)))
    assert [int(start) for start in left_out.starts] == [0, 3, 0, 3, 6]


def test_a_bar_divided_by_a_repeat_sign_has_one_number() -> None:
    """The bar before the sign and the upbeat after it are one bar of the recording."""
    passage = passage_of("|: 3 | 1 2 3 | 1 2 :|")
    beats = (MappedBeat(1.0, 0, 3), *a_map(range(1, 5)).beats)
    assert [int(start) for start in map_passage(passage, BeatMap(beats)).starts] == [
        -1,
        0,
        3,
        5,
        6,
        9,
    ]


@pytest.mark.parametrize(
    ("rhythm", "beat_map", "held"),
    [
        ("1 2 3 | 1 2 3 | 1 2 3", a_map(range(1, 4)), (1, 3)),
        ("1 2 3 | 1 2 3 | 1 2 3", a_map(range(2, 9)), (2, 3)),
        ("1 2 3 | 1 2 3 | 1 2 3", BeatMap(a_map(range(1, 4)).beats[1:-2]), (2, 2)),
        ("1 2 3 | 1 2 3 | 1 [2 3]", BeatMap(a_map(range(1, 4)).beats[:-2]), (1, 3)),
        ("3 | 1 2 3 | 1 2", BeatMap((MappedBeat(1.5, 0, 3), *a_map(range(1, 3)).beats)), (0, 2)),
        ("|: 1 2 3 | 1 2 3 :| 1 (2) 3 | 1 2 3", a_map(range(1, 7)), (1, 4)),
        ("|: 1 2 3 | 1 2 3 :| 1 (2) 3 | 1 2 3", a_map(range(2, 7)), (2, 4)),
        ("|: 1 2 3 | 1 2 3 :| 1 (2) 3 | 1 2 3", a_map(range(5, 7)), (3, 4)),
        ("|: 1 2 3 | 1 2 3 :| 1 (2) 3 | 1 2 3", a_map(range(1, 4)), (1, 3)),
    ],
)
def test_the_bars_that_a_map_holds_are_those_printed(
    rhythm: str, beat_map: BeatMap, held: tuple[int, int]
) -> None:
    """Whoever reads "bars 3 to 4" looks for them on paper, however often the pianist repeats."""
    assert held_bars(passage_of(rhythm), beat_map) == held


def test_a_map_that_holds_no_whole_bar_says_so() -> None:
    """One sentence, and what to do."""
    with pytest.raises(RequestError, match=r"covers 1\.2 to 2\.2, which is no whole bar"):
        held_bars(WALTZ, BeatMap(a_map(range(1, 3)).beats[1:5]))


@pytest.mark.parametrize(
    ("beat_map", "words"),
    [
        (a_map(range(1, 4)), "covers 1.1 to 3.3, not bar 4: map bars 1 to 4 too"),
        (a_map(range(2, 6)), "covers 2.1 to 5.3, not bar 1"),
        (a_map(range(30, 40)), "covers bars 30 to 39, not the bars 1 to 4"),
        (a_map(range(1, 5), beats=2), "bar 1 of the beat map has other beats.*3/4 with 3"),
        (a_map(range(1, 5), beats=4), "bar 1 of the beat map has other beats"),
    ],
)
def test_a_map_that_does_not_fit_is_refused_in_one_sentence(beat_map: BeatMap, words: str) -> None:
    """A wrong map would put every click beside the beat."""
    with pytest.raises(RequestError, match=words):
        map_passage(WALTZ, beat_map)


def test_an_introduction_counted_otherwise_is_left_out() -> None:
    """A free prelude before the passage does not stand in its way."""
    prelude = a_map(range(-0, 1), beats=5, start_s=0.0, beat_s=0.1).beats
    mapped = map_passage(WALTZ, BeatMap((*prelude, *a_map(range(1, 6)).beats)))
    assert mapped.beat_map.bars == (1, 5)


def test_a_last_long_note_may_ring_beyond_the_map() -> None:
    """The map may end on the last beat that is struck."""
    passage = passage_of("1 2 3 | 1 [2 3]")
    beats = a_map(range(1, 3)).beats[:4]
    assert [int(start) for start in map_passage(passage, BeatMap(beats)).starts] == [0, 3]


def test_one_bar_that_is_not_covered_is_one_bar() -> None:
    """Not "the bars 4 to 4"."""
    alone = excerpt(WALTZ, 4, 4)
    with pytest.raises(RequestError, match=r"covers 1\.1 to 3\.3, not bar 4: map bar 4 too"):
        map_passage(alone, a_map(range(1, 4)), whole=WALTZ)
