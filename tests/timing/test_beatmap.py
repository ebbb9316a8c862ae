"""The beat map: text both ways, what is refused, and its maps of time."""

from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.score.metre import Metre
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat
from rhythmtrain.timing.beatmap_text import read_beat_map, write_beat_map
from rhythmtrain.timing.beatmap_warp import moved, slowed, steadied

TWO_FOUR, THREE_FOUR, SIX_EIGHT = (Metre.parse(each) for each in ("2/4", "3/4", "6/8"))
TEXT = "# piano.flac\n1.5\t17.1\t0.02\n2.0\t17.2\n\n2.75\t18.1  # breath\n3.25\t18.2\n"


@st.composite
def beat_maps(draw: st.DrawFn, beats_a_bar: int = 3) -> BeatMap:
    """Return any map in three beats, beginning anywhere in a bar."""
    first = draw(st.integers(0, 2))
    steps = draw(st.lists(st.integers(100, 20_000), min_size=2, max_size=30))
    bar = draw(st.integers(0, 400))
    start = draw(st.integers(0, 10**6))
    beats = []
    for number, step in enumerate(steps):
        start += step
        place = first + number
        unsure = draw(st.none() | st.integers(0, 9000).map(lambda tenths: tenths / 1e4))
        beats.append(
            MappedBeat(start / 1e4, bar + place // beats_a_bar, 1 + place % beats_a_bar, unsure)
        )
    return BeatMap(tuple(beats))


def test_a_map_reads_with_comments_and_uncertainties() -> None:
    """A teacher edits it in any editor."""
    read = read_beat_map(TEXT)
    assert [(beat.time_s, beat.name) for beat in read.beats] == [
        (1.5, "17.1"), (2.0, "17.2"), (2.75, "18.1"), (3.25, "18.2"),
    ]  # fmt: skip
    assert [beat.uncertainty_s for beat in read.beats] == [0.02, None, None, None]
    assert read.bars == (17, 18)
    assert read.second_of(18, 2) == 3.25
    assert read.uncertainty_near(1.6) == 0.02
    assert read.uncertainty_near(3.0) == 0.0


@given(beat_maps())
def test_reading_back_what_was_written_gives_the_same_map(written: BeatMap) -> None:
    """Nothing is lost between two evenings, nor by a comment above it."""
    assert read_beat_map(write_beat_map(written, comment="two\nlines")) == written


@given(st.text(max_size=80))
def test_any_text_is_a_map_or_one_sentence(text: str) -> None:
    """Whatever file is given by mistake."""
    try:
        read_beat_map(text)
    except TakeError as error:
        assert "\n" not in str(error)  # noqa: PT017  (the other branch is fine too)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1.0\t1.1\n", "needs 2 beats or more, got 1"),
        ("1.0\t1.1\n2.0\t1.2\n3.0\t2.2\n", "jumps from 1.2 to 2.2"),
        ("1.0\t1.1\n2.0\t1.3\n", "jumps from 1.1 to 1.3"),
        ("1.0\t1.1\n2.0\t3.1\n", "jumps from 1.1 to 3.1"),
        ("2.0\t1.1\n1.0\t1.2\n", r"goes backwards: 1.2 at 1 s comes after 1.1 at 2 s"),
        ("2.0\t1.1\n2.0\t1.2\n", "goes backwards"),
        ("1.0\t1.1\nnan\t1.2\n", "line 2: 1.2 at nan s is not a second"),
        ("-1.0\t1.1\n1\t1.2\n", "line 1: 1.1 at -1 s is not a second"),
        ("inf\t1.1\n1\t1.2\n", "line 1: 1.1 at inf s is not a second"),
        ("1.0\t1.1\t-3\n2\t1.2\n", "line 1: the uncertainty of 1.1 at 1 s must be 0 or more"),
        ("one\t1.1\n", "line 1: 'one' is not a number of seconds"),
        ("1.0\t1.x\n", "line 1: '1.x' is not a bar and a beat such as 17.1"),
        ("1.0\tA\n", "line 1: 'A' is not a bar and a beat"),
        ("1.0\t1.\n", "line 1: '1.' is not a bar and a beat"),
        ("1.0\t1.0\n", "line 1: 1.0 at 1 s is not a bar and a beat"),
        ("1.0\n", "line 1: write seconds, a tab, and bar.beat"),
        ("1 1.1 0 4\n", "line 1: write seconds, a tab"),
        ("1 1.1 \n" * 800_000, "larger than 5 MB"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(text: str, words: str) -> None:
    """Mended without asking anybody."""
    with pytest.raises(TakeError, match=words):
        read_beat_map(text)


def test_a_place_that_is_not_covered_is_named() -> None:
    """The few bars that were mapped are all there is, and that is said."""
    with pytest.raises(RequestError, match=r"covers 17.1 to 18.2, not 19.1: map those bars too"):
        read_beat_map(TEXT).second_of(19)


def test_the_tempo_map_falls_on_every_mapped_beat() -> None:
    """Clicks made from it sound on the recording's beats."""
    read = read_beat_map(TEXT)
    tempo, zero_s = read.tempo_map(lambda _: TWO_FOUR), read.zero_s(lambda _: TWO_FOUR)
    places = read.quarters(lambda _: TWO_FOUR)
    assert places == tuple(map(Fraction, (0, 1, 2, 3)))
    assert [zero_s + tempo.seconds(place) for place in places] == pytest.approx(
        [1.5, 2.0, 2.75, 3.25]
    )
    assert zero_s + tempo.seconds(Fraction(3, 2)) == pytest.approx(2.375)


def test_a_map_may_begin_with_an_upbeat_and_change_metre() -> None:
    """Bar 0 holds beat 3 only; bar 2 is in 6/8, whose two beats are dotted quarters."""
    text = "1 0.3\n2 1.1\n3 1.2\n4 1.3\n5 2.1\n6 2.2\n7 3.1\n"
    metre_of = {0: THREE_FOUR, 1: THREE_FOUR, 2: SIX_EIGHT, 3: SIX_EIGHT}.__getitem__
    read = read_beat_map(text)
    assert read.quarters(metre_of) == tuple(map(Fraction, (2, 3, 4, 5, 6, 7.5, 9)))
    tempo, zero_s = read.tempo_map(metre_of), read.zero_s(metre_of)
    assert zero_s == pytest.approx(-1)
    assert zero_s + tempo.seconds(Fraction(9)) == pytest.approx(7)


def test_a_map_of_another_metre_is_refused() -> None:
    """Counted in four and read in three, every bar would be wrong."""
    four = read_beat_map("1 1.1\n2 1.2\n3 1.3\n4 1.4\n5 2.1\n")
    with pytest.raises(RequestError, match=r"a beat 1.4, but 3/4 has 3 beats"):
        four.tempo_map(lambda _: THREE_FOUR)
    two = read_beat_map("1 1.1\n2 1.2\n3 2.1\n")
    with pytest.raises(RequestError, match=r"bar 1 of the beat map ends after beat 2, but 3/4"):
        two.tempo_map(lambda _: THREE_FOUR)


@given(beat_maps(), st.floats(0.3, 2.0))
def test_half_speed_doubles_every_second_and_its_uncertainty(
    recorded: BeatMap, speed: float
) -> None:
    """The slow track's clicks are where its beats are."""
    slow = moved(recorded, slowed(speed))
    for before, after in zip(recorded.beats, slow.beats, strict=True):
        assert after.time_s == pytest.approx(before.time_s / speed)
        if before.uncertainty_s is not None:
            assert after.uncertainty_s == pytest.approx(before.uncertainty_s / speed)


@given(beat_maps(), st.floats(30, 200))
def test_made_steady_every_quarter_lasts_alike(recorded: BeatMap, tempo: float) -> None:
    """A learner gets an accompanist who does not breathe; the opening stays where it was."""
    by = steadied(recorded, lambda _: THREE_FOUR, quarters_a_minute=tempo)
    steady = moved(recorded, by)
    assert steady.start_s == pytest.approx(recorded.start_s)
    for early, late in pairwise(steady.beats):
        assert late.time_s - early.time_s == pytest.approx(60 / tempo)
    end = recorded.beats[-1].time_s
    assert by(end + 3) - by(end) == pytest.approx(3)
    assert by(recorded.start_s - 0.01) == pytest.approx(recorded.start_s - 0.01)


@pytest.mark.parametrize("wrong", [0, -1, float("nan"), float("inf")])
def test_a_speed_nobody_can_play_is_refused(wrong: float) -> None:
    """Before any sound is stretched."""
    with pytest.raises(RequestError, match="speed must be more than 0"):
        slowed(wrong)
    with pytest.raises(RequestError, match="tempo must be more than 0"):
        steadied(read_beat_map(TEXT), lambda _: TWO_FOUR, quarters_a_minute=wrong)
