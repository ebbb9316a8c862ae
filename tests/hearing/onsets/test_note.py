"""A new note told from what goes on: slurs, tongued repeats, vibrato, breath close before an entry."""

import numpy as np
import pytest
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.bands import bands_for
from rhythmtrain.hearing.onsets.kinds import KINDS
from rhythmtrain.hearing.onsets.note import note_columns, note_logit
from rhythmtrain.hearing.onsets.onsets import OnsetFinder, find_onsets
from tests.simulate.note_lines import note_line
from tests.simulate.note_table import measured
from tests.simulate.own_noises import breath, sniff
from tests.simulate.sounds import Maker

RATE = 44_100
BANDS = bands_for(KINDS["wind"], RATE)
Sound = NDArray[np.float32]


def _tone(pitch_hz: float, length_s: float) -> NDArray[np.float64]:
    """Return a reed's tone that is there at once and ends within 20 ms."""
    t = np.arange(int(length_s * RATE)) / RATE
    wave = sum(np.sin(2 * np.pi * k * pitch_hz * t) / k for k in (1, 3, 5, 7))
    return np.asarray(wave * np.minimum(1, t / 0.02) * np.minimum(1, (t[-1] - t) / 0.02))


def _in_a_row(*parts: NDArray[np.float64]) -> Sound:
    """Return ``parts`` one after the other, after a second of faint noise, then one more."""
    line = np.concatenate([np.zeros(RATE), *parts, np.zeros(RATE)])
    hiss = 1e-4 * np.random.default_rng(1).standard_normal(line.size)
    return (0.2 * line + hiss).astype(np.float32)


def _columns(sound: Sound, at_s: float, rise_db: float = 1.0) -> NDArray[np.float64]:
    return note_columns(sound, round(at_s * RATE), rise_db, BANDS)


def test_a_slur_is_another_sound_and_a_repeat_is_alike_with_a_dip() -> None:
    """Either is a new note; a note that goes on is none."""
    slurred = _in_a_row(_tone(262, 0.4), _tone(294, 0.4))
    repeated = _in_a_row(_tone(262, 0.4), _tone(262, 0.4))
    held = _in_a_row(_tone(262, 0.8))
    likeness, dip, _, _ = np.array([_columns(s, 1.4) for s in (slurred, repeated, held)]).T
    assert likeness[0] < 0.5
    assert min(likeness[1:]) > 0.95
    assert dip[1] > 4
    assert dip[2] < 0.5
    assert note_logit(_columns(slurred, 1.4)) > 0
    assert note_logit(_columns(repeated, 1.4)) > 0
    assert note_logit(_columns(held, 1.4)) < 0


def test_a_note_that_ends_is_no_new_one() -> None:
    """Where it falls silent there is no dip: nothing comes after."""
    sound = _in_a_row(_tone(262, 0.4))
    assert note_logit(_columns(sound, 1.4, 0.3)) < 0
    assert note_logit(_columns(sound, 1.0, 3.0)) > 0


@pytest.mark.parametrize("apart_s", [0.15, 0.25])
@pytest.mark.parametrize("maker", [breath, sniff])
def test_a_breath_close_before_the_entry_is_not_the_entry(maker: Maker, apart_s: float) -> None:
    """A player who breathes an eighth before coming in is not told that he came early."""
    for seed in range(4):
        sound = _in_a_row(_tone(220, 0.6)).astype(np.float64)
        noise = 0.04 * maker(np.random.default_rng(seed), RATE)
        first = round((1.0 - apart_s) * RATE)
        sound[first : first + noise.size] += noise
        heard = [onset.time_s for onset in find_onsets(sound, RATE, kind="wind")]
        assert heard == [pytest.approx(1.0, abs=0.03)]


@pytest.mark.parametrize(
    ("name", "style", "least"),
    [("reed", "slurred", 0.9), ("reed", "tongued", 0.8), ("bow", "slurred", 0.8)],
)
def test_notes_that_run_into_each_other_are_heard(name: str, style: str, least: float) -> None:
    """A slurred eighth rises little beside the entry before it; it counts all the same."""
    score = measured("held out", name, style, count=2, first=40)
    assert score.matched >= least * score.true
    assert score.found - score.matched <= 0.05 * score.true


@pytest.mark.parametrize("name", ["reed", "brass", "bow"])
def test_vibrato_and_swells_are_no_notes(name: str) -> None:
    """Nine long notes are no more than nine, however they live."""
    score = measured("held out", name, "long", count=1, first=41)
    assert score.found - score.matched <= 1
    assert score.matched >= 6


@pytest.mark.parametrize("size", [999, 30_000])
def test_any_block_size_hears_the_same_notes(size: int) -> None:
    """Read from a file or heard from a microphone."""
    line = note_line("tune", "reed", "slurred", 3)
    sound = line.sound[: 5 * line.rate]
    finder = OnsetFinder(line.rate, kind="wind")
    blocks = [finder.feed(sound[i : i + size]) for i in range(0, sound.size, size)]
    heard = tuple(onset for block in blocks for onset in block) + finder.finish()
    assert heard == find_onsets(sound, line.rate, kind="wind")
    assert len(heard) >= 4


def test_an_entry_is_where_the_note_begins_and_not_the_key_before_it() -> None:
    """Of two rises close together the likelier note counts: an entry is not called early by a key."""
    for number in (8100, 8101):
        line = note_line("held out", "brass" if number % 2 else "reed", "long", number)
        first = find_onsets(line.sound[: 2 * line.rate], line.rate, kind="wind")[0]
        assert first.time_s == pytest.approx(line.onsets_s[0], abs=0.03)


def test_a_recording_that_begins_in_the_middle_of_a_note_has_no_onset_there() -> None:
    """What sounded before is not known; it is taken to have sounded on."""
    sound = _in_a_row(_tone(262, 2.0))[round(1.5 * RATE) :]
    assert find_onsets(sound, RATE, kind="wind") == ()
