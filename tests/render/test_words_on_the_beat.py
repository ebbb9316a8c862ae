"""Spoken words: the beat on its sample, no two at once, none on an entry."""

from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer, Prompt
from rhythmtrain.render.mixer import Placed
from rhythmtrain.render.words import Words, cut, spoken
from rhythmtrain.storage.sounds import load_words
from tests.simulate.plans import prompt, vowel

RATE = 44_100
MADE: Words = {
    "1": (vowel(0.3, 0.05, RATE), 0.05),
    "2": (vowel(0.4, 0.1, RATE), 0.1),
    "&": (vowel(0.13, 0.04, RATE), 0.04),
}


def count(time_s: float, text: str = "1") -> Prompt:
    """Return a word to be spoken."""
    return prompt(time_s, Layer.COUNT, text)


def placed(
    prompts: list[Prompt], *, entries_s: tuple[float, ...] = (), words: Words = MADE
) -> list[Placed]:
    """Return where the words sound."""
    return list(spoken(prompts, words, entries_s, rate=RATE, lufs=-22.0))


@given(st.floats(0.2, 4.0))
def test_a_word_begins_so_many_samples_before_the_click_wherever_that_falls(time_s: float) -> None:
    """Count and click stay together to the sample, though no beat of music keeps to samples."""
    (word,) = placed([count(time_s, "1")])
    assert word.at == round(time_s * RATE) - round(0.05 * RATE)


@pytest.mark.parametrize("part", [-0.5, -0.21, 0.0, 0.003, 0.48])
def test_a_beat_between_two_samples_is_brought_to_the_nearest(part: float) -> None:
    """The wave itself is moved, not only its first sample: a tone keeps its shape."""
    n = np.arange(4_410)
    there, here = (
        np.hanning(4_410) * np.sin(2 * np.pi * 600 * (n - later) / RATE) for later in (part, 0.0)
    )
    words = {"1": (there.astype(np.float32), (2_000 + part) / RATE)}
    (word,) = placed([count(1.0)], words=words)
    assert word.at == RATE - round(2_000 + part)
    assert np.allclose(np.roll(word.make(), 2_000 - round(2_000 + part)), here, atol=2e-3)


@pytest.mark.parametrize(("language", "key"), [("es", "55"), ("de", "2"), ("en", "answer")])
@pytest.mark.parametrize("after_s", [0.1, 0.15, 0.25])
def test_a_word_with_a_long_beginning_leaves_the_entry_before_it_free(
    language: str, key: str, after_s: float
) -> None:
    """In "zwei" the beat comes 160 ms in: soon after an entry, its beginning is not heard."""
    words = load_words(language, [key], rate=RATE)
    (word,) = placed([count(1.0 + after_s, key)], entries_s=(1.0,), words=words)
    beat, begins = round((1.0 + after_s) * RATE), 1.0 + after_s - words[key][1]
    assert (RATE + beat) // 2 <= word.at < beat or word.at == pytest.approx(begins * RATE, abs=1)
    assert word.at > RATE


@given(
    st.lists(st.floats(0.2, 4.0), min_size=1, max_size=12),
    st.lists(st.floats(0.2, 4.0), max_size=3),
)
@settings(max_examples=60)
def test_no_two_words_sound_at_once_and_none_on_an_entry(
    times: list[float], entries: list[float]
) -> None:
    """However thick the count, one hears one word at a time, and silence where one comes in."""
    prompts = [count(at, key) for at, key in zip(times, "12&1212&1212", strict=False)]
    sounds = sorted(placed(prompts, entries_s=tuple(entries)), key=lambda each: each.at)
    for before, after in pairwise(sounds):
        assert before.at + before.length <= after.at
    for each in sounds:
        assert len(each.make()) == each.length
        for entry in entries:
            assert not each.at < round(entry * RATE) < each.at + each.length


def test_a_word_in_the_way_of_the_next_ends_with_a_fade() -> None:
    """The cut is not heard as a click: the last samples run to 0 and the beginning is untouched."""
    first, second = placed([count(1.0, "1"), count(1.2, "2")])
    assert first.at + first.length == second.at == round(1.2 * RATE) - round(0.1 * RATE)
    whole, kept = MADE["1"][0], first.make()
    assert kept[-1] == 0
    assert np.abs(np.diff(kept[-300:])).max() < 0.05
    untouched = first.length - round(0.012 * RATE)
    assert np.array_equal(kept[:untouched], whole[:untouched])


def test_words_closer_than_their_beginnings_meet_half_way() -> None:
    """Sixteenths at a high tempo still have every syllable, each with its beat inside."""
    first, second = placed([count(1.0, "&"), count(1.06, "2")])
    half_way = (round(1.0 * RATE) + round(1.06 * RATE)) // 2
    assert first.at + first.length == second.at == half_way
    assert second.make()[0] == 0


def test_a_word_before_an_entry_ends_there_and_one_after_it_begins_later() -> None:
    """Nothing is spoken on the entry itself."""
    before, after = placed([count(1.0, "2"), count(1.3, "2")], entries_s=(1.22,))
    assert before.at + before.length == round(1.22 * RATE)
    assert after.at > round(1.25 * RATE)


def test_a_word_on_an_entry_is_not_spoken() -> None:
    """The player comes in alone."""
    sounds = placed([count(1.0, "1"), count(2.0, "2")], entries_s=(2.0,))
    assert [each.at for each in sounds] == [round(1.0 * RATE) - round(0.05 * RATE)]


def test_a_word_at_the_very_start_is_faded_in() -> None:
    """A count-in without room before it begins without a click."""
    (word,) = placed([count(0.0, "2")])
    assert word.at == 0
    assert word.length == len(MADE["2"][0]) - round(0.1 * RATE)
    assert word.make()[0] == 0


def test_loud_and_soft_recordings_of_a_word_are_spoken_alike() -> None:
    """A teacher's own voice stands at the level of the supplied one."""
    sound, beat = MADE["1"]
    words = {"1": (sound, beat), "2": (sound * np.float32(0.1), beat)}
    loud, soft = placed([count(1.0, "1"), count(2.0, "2")], words=words)
    assert soft.gain == pytest.approx(10 * loud.gain, rel=1e-3)


def test_a_silent_word_stays_silent() -> None:
    """An empty recording is not turned up for ever."""
    (word,) = placed([count(1.0)], words={"1": (np.zeros(400, dtype=np.float32), 0.0)})
    assert word.gain == 0


def test_a_missing_word_is_named() -> None:
    """One line says which words the voice lacks."""
    with pytest.raises(RequestError, match="no spoken word for 'breathe', 'ready'"):
        placed([count(1.0, "ready"), count(2.0, "breathe"), count(3.0, "1")])


def test_a_word_that_is_not_cut_is_not_faded() -> None:
    """What was recorded is what is heard."""
    sound = MADE["1"][0]
    assert np.array_equal(cut(sound, 0, len(sound), RATE), sound)
