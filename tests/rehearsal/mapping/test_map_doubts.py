"""What is asked where bars and recording do not go together: plain sentences, with what to type."""

import re
from fractions import Fraction

import numpy as np
import pytest

from rhythmtrain.notate.beats.bar_counts import Miscount
from rhythmtrain.notate.notes.written_part import WrittenBeat
from rhythmtrain.rehearsal.mapping.doubts import (
    count_doubts,
    doubted_bars,
    lone_mark_doubts,
    notes_doubts,
    pace_doubts,
)
from rhythmtrain.rehearsal.recorded.marks import Asked, MapWish
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.timing.beatmap import MappedBeat

BEATS = 4
ASKED = Asked(1, 96, BEATS, ((92, 47.0),), ((0, 1.0), (7, 4.5)))
BEAT_MAP = tuple(
    MappedBeat(1.0 + beat / 2, 1 + beat // BEATS, 1 + beat % BEATS) for beat in range(96)
)


def test_one_mark_alone_maps_one_bar_and_says_so() -> None:
    """Whoever marks bar 1 of a whole piece is told what is missing."""
    alone = Asked(1, 4, BEATS, ((0, 1.0),), ())
    (said,) = lone_mark_doubts(MapWish(at=("1=1.0",)), alone)
    assert "only bar 1 was mapped: add --bars-count" in as_typed(said)
    assert lone_mark_doubts(MapWish(at=("1=1.0",), bars_count=24), alone) == ()
    assert lone_mark_doubts(MapWish(at=("1=1.0",), bars="1-24"), alone) == ()
    assert lone_mark_doubts(MapWish(), ASKED) == ()


def places(bar_s: list[float]) -> list[tuple[WrittenBeat, float]]:
    """Return the beats of bars that last as long as ``bar_s`` says."""
    starts = np.concatenate(([2.0], 2.0 + np.cumsum(bar_s)))
    return [
        (
            WrittenBeat(Fraction(BEATS * bar + beat), 1 + bar, 1 + beat),
            float(starts[bar] + (starts[bar + 1] - starts[bar]) * beat / BEATS),
        )
        for bar in range(len(bar_s))
        for beat in range(BEATS)
    ]


@pytest.mark.parametrize(
    ("wish", "option"),
    [
        (MapWish(bars_count=24, end="47.0"), r"\(--bars-count 32\)"),
        (MapWish(bars="1-24", end="47.0"), r"\(--bars 1-32\)"),
        (MapWish(at=("24=47.0",)), r"\(--at 32=47\.00\)"),
    ],
)
def test_a_repeat_is_asked_about_with_the_option_to_give(wish: MapWish, option: str) -> None:
    """One sentence: where, what is heard, and what to type if it is so, or not."""
    (asked,) = count_doubts(wish, ASKED, [Miscount(7, 92, 21, 29)], BEAT_MAP)
    assert "From bar 2 to bar 24 (0:04.5 to 0:47.0)" in asked
    assert "more like 29 bars than 21: is a repeat of about eight bars played, or " in asked
    assert re.search(option, as_typed(asked))
    assert "(--at 13=SECONDS)" in as_typed(asked)


def test_bars_left_out_are_asked_about_and_heard_first() -> None:
    """The middle of the stretch is where a wrong count is heard best."""
    found = [Miscount(7, 92, 21, 17)]
    (asked,) = count_doubts(MapWish(at=("24=47.0",)), ASKED, found, BEAT_MAP)
    assert "are about four bars left out, or does it get faster?" in asked
    assert "--at 20=47.00" in as_typed(asked)
    assert doubted_bars(ASKED, found) == (13,)


def test_a_stretch_of_another_pace_says_which_bar_the_mark_would_be() -> None:
    """Eight bars where four were counted."""
    marks = ((0, 0.0), (16, 8.0), (32, 16.0), (48, 32.0))
    (asked,) = pace_doubts(Asked(1, 64, BEATS, marks, ()))
    assert "Between bar 9 and bar 13 a beat would last 1.00 s, elsewhere 0.50 s" in asked
    assert "the mark at 0:32.0 would be in bar 17" in asked


def test_notes_that_breathe_are_not_asked_about() -> None:
    """Bars half as long again, and a ritard at the end."""
    bars = [2.0, 2.2, 1.9, 3.0, 2.0, 2.1, 1.6, 2.0, 2.0, 2.2, 2.5, 3.2]
    assert notes_doubts(places(bars), (1.9, 30.0)) == ()
    assert notes_doubts(places([2.0, 20.0, 2.0]), (1.9, 30.0)) == ()


def test_bars_that_last_many_times_as_long_or_no_time_are_asked_about() -> None:
    """What a repeat or a cut that was missed looks like in the map."""
    (repeat,) = notes_doubts(places([2.0] * 7 + [9.0, 6.0] + [2.0] * 7), (1.9, 49.0))
    assert "Around bar 8 (0:16.0) the notes last 4.5 times as long as" in repeat
    assert "are bars repeated there?" in repeat
    (cut,) = notes_doubts(places([2.0] * 7 + [0.3, 0.6] + [2.0] * 7), (1.9, 31.0))
    assert "are bars left out there?" in cut
    assert "--order 1-8,1-16" in as_typed(cut)


def test_music_before_the_first_note_and_after_the_last_is_asked_about() -> None:
    """A repeat at the beginning is not taken for a long introduction in silence."""
    bars = [2.0] * 12
    early, late = notes_doubts(places(bars), (-10.0, 40.0))
    assert "12 s of music before the first note, enough for 6 bars" in early
    assert "of music after the last" in late
    assert notes_doubts(places(bars), (1.0, 27.0)) == ()
