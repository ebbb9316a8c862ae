"""Talk with nobody clapping is nobody's clapping: on voices and rooms nothing was chosen on."""

import numpy as np
import pytest

from rhythmtrain.hearing.onsets.clapped import clapped, plainly_heard
from rhythmtrain.hearing.onsets.strokes import strokes_near
from tests.simulate.aloud_table import TALK, measured

HELD = "held out"
RATE = 44_100


@pytest.mark.parametrize("number", [0, 1, 2])
def test_somebody_who_only_talks_has_not_clapped(number: int) -> None:
    """A teacher who explains while the track plays is not told of sixteen wrong claps."""
    assert measured(HELD, TALK, 1, first=number).score.found == 0


def test_who_counts_and_stamps_without_clapping_has_not_clapped() -> None:
    """Counting along is a good beginning; it is no rhythm that came late."""
    assert measured(HELD, "voice, foot, no clap", 2).score.found == 0


def test_who_claps_in_a_live_room_under_a_voice_is_heard_or_told_so() -> None:
    """What is judged holds no word taken for a clap."""
    row = measured(HELD, "voice, live room", 2)
    assert row.refused == 0
    assert row.false < 1
    assert row.score.f >= 0.97


@pytest.mark.long
@pytest.mark.parametrize(("name", "most"), [(TALK, 0), ("voice, foot, no clap", 0)])
def test_reach_where_nobody_claps(name: str, most: int) -> None:
    """Forty more takes of talk, and of counting with feet."""
    assert measured(HELD, name, 40, first=300).score.found <= most


def _family(count: int, like: float, under_db: float) -> tuple[np.ndarray, np.ndarray]:
    return np.full(count, like), np.full(count, under_db)


def test_what_is_like_strokes_and_stands_alone_was_clapped() -> None:
    """And what is covered by vowels throughout, and hardly like a stroke, was said."""
    assert clapped(*_family(9, 4.0, 2.0), -20.0, alone=False)
    assert not clapped(*_family(9, 0.5, 9.0), -20.0, alone=False)
    assert clapped(*_family(9, 0.5, 9.0), -20.0, alone=True)
    assert clapped(*_family(9, -1.0, 2.0), -20.0, alone=False)
    assert not clapped(*_family(9, -2.0, 2.0), -20.0, alone=False)


def test_a_quarter_of_the_strokes_between_the_words_is_enough() -> None:
    """Claps on the beat are counted over; those between the counts are not."""
    like, under_db = _family(12, 0.0, 12.0)
    assert not clapped(like, under_db, -20.0, alone=False)
    under_db[::3] = 2.0
    assert clapped(like, under_db, -20.0, alone=False)


def test_what_is_faint_must_be_plainly_a_stroke() -> None:
    """Talk in the next room, with nobody here."""
    assert not clapped(*_family(9, 2.0, 2.0), -60.0, alone=True)
    assert clapped(*_family(9, 3.0, 2.0), -60.0, alone=True)


def test_a_stroke_knows_what_is_louder_beside_it() -> None:
    """A burst before a vowel lies under it; a clap alone does not."""
    rng = np.random.default_rng(2)
    sound = np.zeros(RATE, np.float32)
    sound[20_000:22_000] = 0.1 * rng.standard_normal(2000) * np.exp(-np.arange(2000) / 400)
    alone = strokes_near(sound, 20_000, RATE)[0]
    vowel = np.sin(2 * np.pi * 200 * np.arange(4000) / RATE)
    sound[22_500:26_500] += (0.5 * vowel).astype(np.float32)
    before_a_vowel = strokes_near(sound, 20_000, RATE)[0]
    assert 0 <= alone.under_db < 4
    assert before_a_vowel.under_db > alone.under_db + 10
    assert plainly_heard([alone])
    assert not plainly_heard(strokes_near(1e-4 * sound, 20_000, RATE))
    assert not plainly_heard([])
