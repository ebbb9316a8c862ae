"""The tempo in words, and what MIDI needs: tempi, metres, markers."""

from bisect import bisect_right
from dataclasses import replace
from fractions import Fraction
from itertools import pairwise

import pytest

from rhythmtrain.prompts.midi_grid import metres, pieces_for, tempi
from rhythmtrain.prompts.tempo_words import tempo_words
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import TempoMark
from rhythmtrain.timing.tempomap import Stretch
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from rhythmtrain.units import Bpm
from tests.simulate.passages import bar, passage


def slowing(bars: int, begun: float, ended: float) -> Timeline:
    """Return ``bars`` bars of 4/4 that go gradually from one tempo to another, then stay there."""
    first = replace(bar(1, 0), tempo=TempoMark(Bpm(begun), Bpm(ended), bars))
    rest = (bar(number, 0) for number in range(2, bars + 2))
    return lay_out(passage(first, *rest, tempo=begun))


@pytest.mark.parametrize(
    ("metre", "beat", "tempo", "speed", "words"),
    [
        ("4/4", None, 72, 1, "quarter = 72"),
        ("4/4", None, 72, 0.5, "quarter = 36"),
        ("6/8", None, 60, 1, "dotted quarter = 60"),
        ("2/2", None, 55, 0.7, "half = 38.5"),
        ("3+2/8", "group", 180, 1, "eighth = 180"),
        ("5+5/8", "group", 40, 1, "eighth = 200"),
    ],
)
def test_the_tempo_is_told_as_it_sounds(
    metre: str, beat: str | None, tempo: float, speed: float, words: str
) -> None:
    """At half speed the file says the half tempo, in the value that gets a count."""
    piece = passage(bar(1, 0, metre=Metre.parse(metre, beat=beat)), tempo=tempo)
    assert tempo_words(piece, speed) == words


def test_british_names_are_used_when_asked_for() -> None:
    """A crotchet is a crotchet."""
    plan = plan_track(lay_out(passage(bar(1, 0), tempo=72)), Wishes(british=True))
    assert plan.tempo_words == "crotchet = 72"


def test_a_tempo_that_changes_is_told_as_the_first() -> None:
    """One number cannot stand for a passage that slows down."""
    assert tempo_words(slowing(2, 96, 72).passage) == "quarter = 96 at first"


@pytest.mark.parametrize(
    ("bars", "begun", "ended", "row"),
    [(4, 96, 72, 7), (2, 144, 40, 20), (8, 60, 120, 12), (1, 70, 72, 5)],
)
def test_a_gradual_tempo_becomes_a_row_of_tempi_within_a_millisecond(
    bars: int, begun: float, ended: float, row: int
) -> None:
    """As many for the first bar as sqrt(h k / (8 v^2) / 0.5 ms) says, rounded up."""
    timeline = slowing(bars, begun, ended)
    assert pieces_for(timeline.tempo.stretches[0]) == row
    steps = tempi(timeline)
    starts = [second for second, _ in steps]
    at = [0.0]
    for (second, tempo), (after, _) in pairwise(steps):
        at.append(at[-1] + (after - second) * tempo / 60)
    for place in range(bars * 64 + 16):
        quarters = Fraction(place, 16)
        step = bisect_right(at, float(quarters) + 1e-9) - 1
        second = starts[step] + (float(quarters) - at[step]) * 60 / steps[step][1]
        assert second == pytest.approx(timeline.track_seconds(quarters), abs=0.000501)


def test_a_steady_tempo_is_one_tempo() -> None:
    """Speed is part of it: a MIDI player shows the tempo that sounds."""
    timeline = lay_out(passage(bar(1, 0), tempo=80), Practice(speed=0.5, repeats=3, count_in=1))
    ((second, tempo),) = tempi(timeline)
    assert (second, round(tempo, 9)) == (0, 40)
    assert pieces_for(Stretch(Fraction(0), Fraction(4), 1.0, 1.0)) == 1


def test_a_count_in_and_its_upbeat_are_one_bar() -> None:
    """Bar lines in MIDI fall on the downbeats."""
    timeline = lay_out(passage(bar(0, 3, begins=3), bar(1, 0)), Practice(count_in=1, repeats=2))
    assert metres(timeline) == ((0.0, 4, 4),)


@pytest.mark.parametrize(
    ("begins", "upper", "lower"), [("3", 1, 4), ("7/2", 1, 8), ("13/4", 3, 16)]
)
def test_an_upbeat_without_count_in_has_a_bar_of_its_own(
    begins: str, upper: int, lower: int
) -> None:
    """Else every bar line after it would be out."""
    timeline = lay_out(passage(bar(0, begins, begins=begins), bar(1, 0)))
    length = float(4 - Fraction(begins))
    assert metres(timeline) == ((0.0, upper, lower), (length, 4, 4))


def test_an_upbeat_that_no_metre_can_write_keeps_the_metre() -> None:
    """A third of a beat is no bar in any metre."""
    timeline = lay_out(passage(bar(0, "11/3", begins="11/3"), bar(1, 0)))
    assert metres(timeline) == ((0.0, 4, 4),)


def test_a_change_of_metre_is_told_where_it_happens() -> None:
    """Groups are added up: MIDI knows no 3+2."""
    timeline = lay_out(passage(bar(1, 0), bar(2, 0, metre="3+2/8"), bar(3, 0, metre="3+2/8")))
    assert metres(timeline) == ((0.0, 4, 4), (4.0, 5, 8))


def test_markers_name_the_count_in_and_every_bar() -> None:
    """One can find bar 2 in any sequencer."""
    timeline = lay_out(passage(bar(1, 0), bar(2, 0)), Practice(count_in=2))
    plan = plan_track(timeline)
    assert plan.markers == ((0.0, "count-in"), (8.0, "bar 1"), (12.0, "bar 2"))
