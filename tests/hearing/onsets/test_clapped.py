"""Talk with nobody clapping is nobody's clapping: on voices and rooms nothing was chosen on."""

from dataclasses import replace

import numpy as np
import pytest

from rhythmtrain.hearing.onsets.clapped import Family, clapped, family_of, plainly_heard
from rhythmtrain.hearing.onsets.sounds_apart import stacked
from rhythmtrain.hearing.onsets.strokes import Stroke, strokes_near
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


PLAIN = Family(like=4.0, under_db=2.0, rise_db=25.0, loudest_db=-20.0)


def test_what_is_like_strokes_and_stands_alone_was_clapped() -> None:
    """And what is covered by vowels throughout, and hardly like a stroke, was said."""
    assert clapped(PLAIN, alone=False)
    said = replace(PLAIN, like=0.5, under_db=9.0)
    assert not clapped(said, alone=False)
    assert clapped(said, alone=True)
    assert clapped(replace(PLAIN, like=-1.0), alone=False)
    assert not clapped(replace(PLAIN, like=-2.0), alone=False)


def test_bursts_that_hardly_rise_out_of_the_words_are_no_claps() -> None:
    """However like strokes they are, where none of them stands alone: a talker's t."""
    burst = replace(PLAIN, like=2.0, under_db=4.0, rise_db=10.0)
    assert not clapped(burst, alone=False)
    assert clapped(replace(burst, rise_db=12.0), alone=False)
    assert clapped(replace(burst, under_db=2.0), alone=False)


def test_a_quarter_of_the_strokes_between_the_words_is_enough() -> None:
    """Claps on the beat are counted over; those between the counts are not."""
    usual = np.array([-20.0, -12.0, -3.0, 0.0, -6.0, -8.0])
    strokes = [
        Stroke(
            0.0, usual, usual - 25, usual * 0 + 9, usual * 0 + 15, 2.0 if number % 3 == 0 else 12.0
        )
        for number in range(12)
    ]
    family = family_of(stacked(strokes), usual, np.zeros(12))
    assert family.under_db == pytest.approx(2.0)
    assert family.rise_db == pytest.approx(25.0, abs=0.1)
    assert clapped(family, alone=False)
    assert not clapped(replace(family, under_db=12.0), alone=False)


def test_what_is_faint_must_be_plainly_a_stroke() -> None:
    """Talk in the next room, with nobody here."""
    assert not clapped(replace(PLAIN, like=2.0, loudest_db=-60.0), alone=True)
    assert clapped(replace(PLAIN, like=3.0, loudest_db=-60.0), alone=True)


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
