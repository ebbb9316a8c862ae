"""A passage in the order it is practised: repeats, echo, upbeats, entries, cues, speed."""

from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import Practice, Role, Timeline, lay_out
from rhythmtrain.units import Bpm
from tests.simulate.passages import passages


def read(text: str, metre: str = "4/4", *, tempo: float = 60, cue: str = "") -> Passage:
    """Return the passage of a count line."""
    written = Metre.parse(metre)
    beside = read_bars(cue, written) if cue else ()
    return Passage("Ferry Step", Bpm(tempo), read_bars(text, written), cue=beside)


def times(timeline: Timeline) -> list[float]:
    """Return the seconds of all notes."""
    return [timeline.seconds(note.at) for note in timeline.notes]


practices = st.builds(
    Practice,
    speed=st.floats(0.3, 2),
    repeats=st.integers(1, 4),
    count_in=st.integers(0, 2),
    echo=st.integers(0, 3),
    between=st.integers(0, 2),
)


@settings(deadline=None)
@given(passages(), practices)
def test_bars_follow_each_other_without_a_gap(passage: Passage, practice: Practice) -> None:
    """A track never stumbles between two bars."""
    bars = lay_out(passage, practice).bars
    assert all(before.stop == after.start for before, after in pairwise(bars))


@settings(deadline=None)
@given(passages(), practices)
def test_notes_lie_in_their_bars_and_go_forward(passage: Passage, practice: Practice) -> None:
    """Each note belongs to the bar it is reported in."""
    timeline = lay_out(passage, practice)
    for note in timeline.notes:
        assert timeline.bars[note.place].start <= note.at < timeline.bars[note.place].stop
    assert all(before.at < after.at for before, after in pairwise(timeline.notes))


@settings(deadline=None)
@given(passages(), practices)
def test_half_speed_doubles_every_time(passage: Passage, practice: Practice) -> None:
    """Nothing but the clock changes when one practises slowly."""
    timeline = lay_out(passage, practice)
    slow = lay_out(passage, replace(practice, speed=practice.speed / 2))
    assert times(slow) == pytest.approx([2 * time for time in times(timeline)], abs=1e-9)


@settings(deadline=None)
@given(passages(), st.integers(1, 5))
def test_repeats_play_the_same_notes_again(passage: Passage, repeats: int) -> None:
    """Every run has the notes of the first, each run as far from its own beginning."""
    timeline = lay_out(passage, Practice(repeats=repeats))
    runs = [[note for note in timeline.notes if note.run == run] for run in range(1, repeats + 1)]
    for run in runs:
        assert [note.note.count for note in run] == [note.note.count for note in runs[0]]
        assert [note.at - run[0].at for note in run] == [
            note.at - runs[0][0].at for note in runs[0]
        ]


def test_repeats_and_endings_are_played_out() -> None:
    """First time, back, second time; a held note ends where the player goes back."""
    timeline = lay_out(read("|: 1 | first time 1 2 :| second time 1 2 3"))
    assert [bar.index for bar in timeline.bars] == [0, 1, 0, 2]
    assert [bar.repeat for bar in timeline.bars] == [1, 1, 2, 1]
    assert [note.note.count for note in timeline.notes] == ["1", "1", "2", "1", "1", "2", "3"]
    assert [float(note.note.length) for note in timeline.notes] == [4, 1, 3, 4, 1, 1, 2]


def test_an_upbeat_lies_before_second_nought() -> None:
    """Bar 1 is the zero of everything, with and without a count-in."""
    for count_in in (0, 1):
        timeline = lay_out(read("4 | 1 2 3 4"), Practice(count_in=count_in))
        assert times(timeline) == [-1, 0, 1, 2, 3]
        assert float(timeline.track_seconds(timeline.start)) == 0
        assert float(timeline.track_seconds(Fraction(0))) == (4 if count_in else 1)


def test_echo_is_heard_first_and_then_left_for_the_answer() -> None:
    """Only the answers are the player's."""
    timeline = lay_out(read("1 2 3 4 | 1 | 1 2"), Practice(echo=2))
    roles = [(bar.index, bar.role) for bar in timeline.bars]
    assert roles == [
        (0, Role.LISTEN),
        (1, Role.LISTEN),
        (0, Role.ANSWER),
        (1, Role.ANSWER),
        (2, Role.LISTEN),
        (2, Role.ANSWER),
    ]
    assert sum(note.expected for note in timeline.notes) == 7
    assert [bar.repeat for bar in timeline.bars] == [1] * 6


def test_entries_and_cues_are_found_along_the_way() -> None:
    """An entry comes round with every run; what is only heard is no entry."""
    passage = read("rest 2 | 1 2", cue="1 2 | 1 3 | rest 1")
    timeline = lay_out(passage, Practice(repeats=3))
    assert [timeline.notes[entry.note].run for entry in timeline.entries] == [1, 2, 3]
    assert [entry.entry.rest_bars for entry in timeline.entries] == [2, 2, 2]
    assert [float(cue.at) for cue in timeline.cues] == [0, 1, 4, 6, 12, 13, 16, 18, 24, 25, 28, 30]
    assert lay_out(read("1 2"), Practice(repeats=2)).cues == ()
    echoed = lay_out(passage, Practice(echo=3))
    assert [timeline.role for timeline in echoed.notes] == [Role.LISTEN] * 2 + [Role.ANSWER] * 2
    assert [echoed.notes[entry.note].role for entry in echoed.entries] == [Role.ANSWER]


def test_tempo_marks_are_followed_each_time_round() -> None:
    """After a repeat the tempo is again the one that stands there."""
    timeline = lay_out(read("|: 1 | tempo 120 1 :| 1"))
    assert times(timeline) == pytest.approx([0, 4, 6, 10, 12])


def test_a_gradual_change_ends_in_its_tempo() -> None:
    """60 to 120 over two bars, then 120."""
    timeline = lay_out(read("tempo 60 to 120 over 2 bars 1 | 1 | 1 2"))
    assert timeline.tempo.speed_at(Fraction(4)) == pytest.approx(1.5)
    assert timeline.seconds(Fraction(9)) - timeline.seconds(Fraction(8)) == pytest.approx(0.5)


def test_a_pause_holds_the_beat_of_the_bar_before_it() -> None:
    """The last quarter of 3/4 is held, though 6/8 counted in dotted quarters follows."""
    timeline = lay_out(read("1 2 3 | metre 6/8 pause 1 2", "3/4"))
    assert times(timeline) == pytest.approx([0, 1, 2, 4, 5.5])


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"repeats": 0}, "repeats must be 1 to 999, got 0"),
        ({"count_in": -1}, "count-in must be 0 to 999 bars, got -1"),
        ({"echo": 1000}, "echo must be 0 to 999 bars, got 1000"),
        ({"between": 10**9}, "between must be 0 to 999 bars, got 1000000000"),
    ],
)
def test_what_cannot_be_practised_is_refused(wish: dict[str, int], words: str) -> None:
    """Memory stays bounded, and the message gives the range."""
    with pytest.raises(RequestError, match=words):
        Practice(**wish)


def test_a_speed_of_nothing_is_refused() -> None:
    """Speed 0 would never end."""
    with pytest.raises(RequestError, match="speed must be more than 0"):
        lay_out(read("1"), Practice(speed=0))
