"""Writing down a clapped rhythm: right, as sure as it says, and the same passage for every drill."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.notate.rhythm.figures import figures
from rhythmtrain.notate.rhythm.transcribe import Asked, Transcription, straight_again, transcribe
from rhythmtrain.notate.rhythm.tries import split_tries, without_doubles
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.counts import count_name
from rhythmtrain.score.metre import Beat, Metre
from rhythmtrain.score.passage import Kind, Passage, notes_of
from rhythmtrain.storage.drills import load_drill, shipped_drills
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from tests.simulate.transcribe_table import row, row_of_all_tempi
from tests.simulate.transcribe_trials import Clapper

SUPPLIED = [drill.name for drill in shipped_drills()]
QUICK = (
    "05-upbeat",
    "13-winding-down",
    "26-duplets-in-six",
    "28-towpath-entry",
    "30-crooked-dance",
)


def clapped(rhythm: str, metre: str = "2/4", tempo: float = 72) -> np.ndarray:
    """Return when the notes of a count line come, in seconds from its first bar."""
    bars = read_bars(rhythm, Metre.parse(metre))
    timeline = lay_out(Passage("x", tempo, bars), Practice(count_in=0))  # type: ignore[arg-type]
    return np.array([timeline.track_seconds(note.at) for note in timeline.notes])


def written(onsets: np.ndarray, metre: str = "2/4", **asked: object) -> Transcription:
    """Return what is written down."""
    metres = tuple(Metre.parse(word) for word in metre.split())
    return transcribe(onsets.tolist(), Asked(metres, **asked))  # type: ignore[arg-type]


def round_trip(name: str) -> tuple[list[Fraction], list[Fraction]]:
    """Return the places of a drill's notes as played, and as written down from their times."""
    passage = load_drill(name).passage
    assert passage is not None
    timeline = lay_out(passage, Practice(count_in=0))
    first, count = _first(timeline)
    times = [timeline.track_seconds(note.at) for note in timeline.notes]
    metres = tuple(bar.bar.metre for bar in timeline.bars if bar.stop > timeline.notes[0].at)
    told = transcribe(times, Asked(metres, passage.tempo, count))
    again = [note.at for note in notes_of(told.passage.bars)]
    return [note.at - first for note in timeline.notes], [each - again[0] for each in again]


def _first(timeline: Timeline) -> tuple[Fraction, str]:
    note = timeline.notes[0]
    played = next(bar for bar in timeline.bars if bar.start <= note.at < bar.stop)
    return note.at, count_name(played.bar.metre, note.at - played.start + played.bar.begins)


@pytest.mark.parametrize("name", QUICK)
def test_the_claps_of_a_track_are_written_down_as_the_drill(name: str) -> None:
    """Upbeats, uneven beats, changing metres, long rests, a pause after slowing down, duplets."""
    meant, got = round_trip(name)
    assert got == meant


@pytest.mark.long
@pytest.mark.parametrize("name", [name for name in SUPPLIED if name not in QUICK])
def test_the_claps_of_every_other_track_too(name: str) -> None:
    """Without noise the round trip is exact for all supplied drills."""
    meant, got = round_trip(name)
    assert got == meant


def test_phrases_of_a_person_are_right_four_times_in_five() -> None:
    """20 ms of spread and 30 ms of lag at quarter = 90; most phrases come out whole."""
    found = row("drills", 6, Clapper(), said=True)
    assert found.right >= 0.8 * found.trials
    assert found.sure[0] >= 0.95 * found.sure[1]


@pytest.mark.long
@pytest.mark.parametrize(("name", "least"), [("tune", 0.9), ("held out", 0.8), ("drills", 0.9)])
def test_sixty_passages_are_right_as_often(name: str, least: float) -> None:
    """The same on more of them; where figures that music hardly has are as likely as others, less."""
    found = row(name, 60, Clapper(), said=True)
    assert found.right >= least * found.trials
    assert found.sure[0] >= 0.95 * found.sure[1]


def test_three_tries_are_surer_than_one() -> None:
    """What one try leaves in doubt, three do not."""
    rng = np.random.default_rng(8)
    exact = clapped("1 e & a 2 & | 1 a 2 la li | 1 & a 2 | 1 e a 2")
    tries = [exact + 14 * index + rng.normal(0, 0.035, len(exact)) for index in range(3)]
    one, three = written(tries[0], tempo=72.0), written(np.concatenate(tries), tempo=72.0)
    assert three.tries == 3
    assert min(bar.chance for bar in three.bars) > min(bar.chance for bar in one.bars)
    assert write_bars(three.passage.bars) == "1 e & a 2 & | 1 a 2 la li | 1 & a 2 | 1 e a 2"


def test_a_doubtful_figure_is_marked_with_what_else_it_could_be() -> None:
    """Two thirds and three quarters of a beat are 55 ms apart: a clap half way is not known."""
    onsets = clapped("1 & 2 & | 1 & 2 & | 1 a 2 & | 1 & 2 &", tempo=90)
    onsets[9] -= 0.033
    rng = np.random.default_rng(1)
    found = written(onsets + rng.normal(0, 0.012, len(onsets)), tempo=90.0)
    assert [bar.bar for bar in found.bars if bar.doubtful] == [3]
    ((count, other),) = found.bars[2].doubts
    assert count == "1"
    assert other in ("1 1li", "1 1a")


def test_the_tempo_is_found_where_nobody_said_it() -> None:
    """A march at a common tempo."""
    found = written(clapped("1 & 2 & | 1 e & a 2 | 1 & 2 & | 1 2", tempo=84))
    assert found.tempo == pytest.approx(84, rel=0.01)
    assert float(found.passage.tempo) == 84
    assert write_bars(found.passage.bars) == "1 & 2 & | 1 e & a 2 | 1 & 2 & | 1 2"


@settings(max_examples=4, deadline=None)
@given(st.floats(0, 30), st.floats(-0.03, 0.03))
def test_when_the_take_begins_and_a_constant_lag_change_nothing(
    start_s: float, lag_s: float
) -> None:
    """Shifting all claps shifts no note."""
    onsets = clapped("1 & a 2 & | 1 a 2") + 3
    assert (
        write_bars(written(onsets + start_s + lag_s, tempo=72.0).passage.bars)
        == "1 & a 2 & | 1 a 2"
    )


def test_the_first_count_is_said_where_it_is_not_one() -> None:
    """An upbeat is bar 0; an off-beat in the first beat begins a full bar."""
    assert written(clapped("2 & | 1 2 & | 1 2"), tempo=72.0, first="2").passage.bars[0].number == 0
    off = written(clapped("(1) & 2 | 1 2 | 1 2"), tempo=72.0, first="1&").passage
    assert write_bars(off.bars) == "(1) & 2 | 1 2 | 1 2"


def test_empty_bars_are_rests_and_notes_are_held() -> None:
    """Claps have no length: one canonical form."""
    found = written(clapped("1 [2] | rest 2 | 1 2 & | 1 (2)"), tempo=72.0).passage
    assert write_bars(found.bars) == "1 [2] | rest 2 | 1 2 & | 1 [2]"
    assert all(place.kind is not Kind.SILENT for bar in found.bars for place in bar.places)


def test_too_few_and_too_many_claps_are_one_line() -> None:
    """A rhythm has at least three."""
    with pytest.raises(TakeError, match="3 to 400 claps can be written down, not 2"):
        written(np.array([0.0, 1.0]))
    with pytest.raises(TakeError, match="not 500"):
        written(np.arange(500) * 0.5)


def test_claps_that_fit_nothing_are_one_line() -> None:
    """A roll of twenty in a second is no rhythm at any tempo that was said."""
    with pytest.raises(TakeError, match="fit no rhythm"):
        written(np.arange(60) * 0.05, tempo=60.0)


def test_tries_are_told_from_rests() -> None:
    """Alike pieces after a stop are tries; unlike ones are one passage with a rest in it."""
    piece = np.array([0, 0.4, 0.8, 1.6, 2.0])
    alike = split_tries(np.concatenate([piece, piece * 1.04 + 6, piece + 11.3]).tolist())
    assert len(alike.together) == 3
    other = np.array([0, 0.8, 1.2, 1.6, 2.0])
    assert len(split_tries(np.concatenate([piece, other + 6]).tolist()).together) == 1
    broken = split_tries(np.concatenate([piece[:3], piece + 6, piece + 12]).tolist())
    assert (len(broken.together), broken.left_out) == (2, (3,))


def test_where_nobody_said_the_tempo_no_bar_is_surer_than_the_tempo() -> None:
    """Quarters at 126 are eighths at 63: both are written, and neither is sure."""
    exact = clapped("1 2 | 1 2 | 1 & 2 | 1 2", tempo=126)
    told, found = written(exact, tempo=126.0), written(exact)
    assert all(bar.chance > 0.95 for bar in told.bars)
    assert all(bar.doubtful for bar in found.bars)


@pytest.mark.long
@pytest.mark.parametrize(("name", "least"), [("drills", 0.95), ("held out", 0.95), ("unseen", 0.8)])
def test_of_bars_called_sure_at_a_found_tempo_few_are_wrong(name: str, least: float) -> None:
    """At any tempo from 54 to 132; fewer are right where figures that music hardly has are common."""
    found = row_of_all_tempi(name, 36)
    assert found.sure[1] > 8
    assert found.sure[0] >= least * found.sure[1]


@pytest.mark.parametrize(
    ("lost", "extra", "sizes", "left"),
    [
        ((), (), [7, 7, 7], ()),
        ((3,), (), [7, 7], (6,)),
        ((), (1.1,), [7, 7, 7], ()),
        ((), (1.1, 2.7), [7, 7, 7], ()),
        ((1, 3), (), [7, 7], (5,)),
    ],
)
def test_a_clap_missed_or_too_many_in_one_try_spoils_no_other(
    lost: tuple[int, ...], extra: tuple[float, ...], sizes: list[int], left: tuple[int, ...]
) -> None:
    """Nobody claps everything right three times; what is too many is taken away."""
    piece = np.array([0, 0.4, 0.8, 1.6, 2.0, 2.8, 3.2])
    second = np.sort([*np.delete(piece, lost), *extra])
    take = np.concatenate([piece, second + 9, piece * 1.02 + 19]).tolist()
    found = split_tries(take)
    assert [len(each) for each in found.together] == sizes
    assert found.left_out == left
    for each in found.together:
        assert np.diff(each) / np.ptp(each) == pytest.approx(np.diff(piece) / 3.2, abs=0.01)


def test_of_two_tries_that_differ_by_a_clap_the_longer_is_read() -> None:
    """A clap forgotten is commoner than one too many; but another rhythm is more of the passage."""
    piece = np.array([0, 0.4, 0.8, 1.6, 2.0, 2.8, 3.2])
    found = split_tries(np.concatenate([np.delete(piece, 2), piece + 9]).tolist())
    assert [len(each) for each in found.together] == [7]
    assert found.left_out == (6,)
    other = np.array([0, 0.8, 1.2, 1.6, 2.4, 3.2])
    assert len(split_tries(np.concatenate([piece, other + 9]).tolist()).together[0]) == 13
    assert len(split_tries(np.concatenate([piece, piece[:3] + 9]).tolist()).together[0]) == 10


def test_a_phrase_that_comes_twice_after_a_short_rest_is_one_try() -> None:
    """Music repeats itself: a stop is longer than a bar and a half."""
    piece = np.array([0, 0.5, 1.0, 1.5])
    twice = np.concatenate([piece, piece + 4]).tolist()
    assert len(split_tries(twice, bar_s=2.0).together) == 1
    assert len(split_tries(twice, bar_s=1.0).together) == 2
    bars = np.concatenate([piece, piece + 4, piece + 8.2, piece + 12.2]).tolist()
    assert len(split_tries(bars, bar_s=1.0).together) == 4


def test_straight_on_tries_are_said() -> None:
    """No pause, no sign: the player tells."""
    piece = np.array([0, 0.4, 0.8, 1.6, 2.0])
    both = np.concatenate([piece, piece + 3.2]).tolist()
    assert len(split_tries(both, 2).together) == 2
    with pytest.raises(RequestError, match="10 claps do not divide into 3 tries"):
        split_tries(both, 3)
    with pytest.raises(RequestError, match=r"times. must be 1 to 12"):
        split_tries(both, 0)


def test_a_clap_heard_twice_is_one() -> None:
    """A hand and its echo."""
    assert without_doubles([0.0, 0.03, 0.5, 1.0, 1.02]).tolist() == [0.0, 0.5, 1.0]


def test_a_passage_that_comes_again_is_noticed() -> None:
    """Two bars clapped twice, straight on."""
    bars = read_bars("1 & 2 | 1 2 | 1 & 2 | 1 2", Metre.parse("2/4"))
    assert straight_again(Passage("x", 72, bars)) == 2  # type: ignore[arg-type]
    assert straight_again(Passage("x", 72, bars[:3])) is None  # type: ignore[arg-type]
    other = read_bars("1 2 3 | 1 2 [3] | 1 [2] 3 | 1 2 [3]", Metre.parse("3/8"))
    assert straight_again(Passage("x", 72, other)) is None  # type: ignore[arg-type]


@pytest.mark.parametrize(("metre", "tempo"), [("7/8", 200), ("3+2/8", 250)])
def test_counted_eighths_are_found_at_the_tempo_of_eighths(metre: str, tempo: float) -> None:
    """Nobody said the tempo: eighths go twice as fast as quarters, and are seldom cut in two."""
    rows = {"7/8": "1 2 3 4 5 & 6 7 | 1 [2] 3 4 5 [6] 7", "3+2/8": "1 2 3 4 5 | 1 [2] 3 4 & 5"}
    bars = read_bars(rows[metre], Metre.parse(metre))
    rng = np.random.default_rng(311)
    places = [note.at for note in notes_of(bars)]
    onsets = [1.0 + float(at) * 120 / tempo + rng.normal(0, 0.01) for at in places]
    found = transcribe(onsets, Asked((Metre.parse(metre),)))
    assert [note.at for note in notes_of(found.passage.bars)] == places
    assert found.tempo == pytest.approx(tempo, rel=0.05)


@pytest.mark.parametrize("length", ["1", "1/2", "2", "3/2", "3/4", "5/2", "7/8"])
def test_the_figures_of_any_beat_are_a_distribution(length: str) -> None:
    """Their chances sum to one, and every figure lies within its beats."""
    beat = Beat(Fraction(0), Fraction(length))
    for following in (None, beat):
        able = figures(beat, following)
        assert sum(np.exp(each.log_chance) for each in able) == pytest.approx(1)
        assert all(0 <= at < each.beats * beat.length for each in able for at in each.at)
        assert len({(each.at, each.beats) for each in able}) == len(able)
