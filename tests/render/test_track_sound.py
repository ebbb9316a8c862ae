"""A plan as sound: every prompt in its voice, at its level, on its sample."""

from dataclasses import replace

import numpy as np
import pyloudnorm
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray
from scipy.signal import resample_poly

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer, Plan, Prompt
from rhythmtrain.render.track import STANDARD, Levels, track_blocks
from rhythmtrain.storage.sounds import load_words
from rhythmtrain.units import Seconds, samples_at
from tests.simulate.plans import joined, plan, prompt

RATE = 44_100
CEILING = 10 ** (-1 / 20)
COUNTS = ("1", "&", "2", "&", "3", "&", "4", "&")


def sound_of(of: Plan, *, channels: int = 2, block: int = 65_536) -> NDArray[np.float32]:
    """Return the whole track."""
    keys = {each.text for each in of.prompts if each.layer is Layer.COUNT}
    words = load_words("en", keys, rate=RATE)
    return joined(list(track_blocks(of, words, RATE, channels=channels, block=block)))


def everything(step_s: float, places: int) -> list[Prompt]:
    """Return all layers at once on every place: click, count, clap, tune, and cue."""
    prompts = []
    for n in range(places):
        at, text = 0.5 + n * step_s, COUNTS[n % 8]
        click = "downbeat" if n % 8 == 0 else "between" if n % 2 else "beat"
        prompts += [
            prompt(at, Layer.CLICK, click),
            prompt(at, Layer.COUNT, text),
            prompt(at, Layer.CLAP, "note", accent=n % 8 == 0),
            prompt(at, Layer.TUNE, "note", length_s=step_s, pitches=(60 + n % 13,)),
            prompt(at, Layer.CUE, "note", length_s=step_s, pitches=(43, 55, 59) if n % 2 else ()),
        ]
    return prompts


@pytest.mark.parametrize("rate", [44_100, 48_000])
@pytest.mark.parametrize(
    ("layer", "text"), [(Layer.CLICK, "beat"), (Layer.CLAP, "note"), (Layer.CUE, "note")]
)
def test_the_first_sample_of_a_stroke_is_its_place_after_an_hour_too(
    rate: int, layer: Layer, text: str
) -> None:
    """No stroke drifts: the track is silent up to round(t · rate), and not there."""
    step = 60 / 91.7 + 1e-5
    times = [n * step for n in range(round(3600 / step))]
    blocks = track_blocks(
        plan([prompt(at, layer, text) for at in times], 3600.0), {}, rate, channels=1
    )
    wanted = [samples_at(at, rate) for at in times]
    start, found = 0, []
    for number, block in enumerate(blocks):
        if number % 20 == 0:
            found += [start + n for n in first_sounds(np.rint(block[:, 0] * 32767))]
        start += len(block)
    assert len(found) > 150
    assert set(found) <= set(wanted)


def first_sounds(samples: NDArray[np.float32]) -> list[int]:
    """Return where sound follows 20 ms of digital silence, beginning after the first 100 ms."""
    loud = np.flatnonzero(samples)
    fresh = np.flatnonzero(np.diff(loud) > 900) + 1
    return [int(loud[n]) for n in fresh if loud[n] > 4800]


@given(st.integers(0, 3000), st.integers(1000, 9000))
@settings(max_examples=10, deadline=None)
def test_moving_the_plan_moves_the_sound_by_as_much(by: int, block: int) -> None:
    """A longer count-in does not change the passage, in blocks of any size."""
    prompts = everything(0.25, 6)
    later = [replace(each, time_s=Seconds(each.time_s + by / RATE)) for each in prompts]
    here = sound_of(plan(prompts, 3.0), channels=1)
    moved = sound_of(plan(later, 3.0 + by / RATE), channels=1, block=block)
    assert not moved[:by].any()
    # Half a sample may round either way for words and strokes alike; none does at these places.
    assert np.abs(moved[by : by + len(here)] - here).max() < 1e-6


def test_every_layer_stands_at_its_documented_level() -> None:
    """A ladder of tracks is equally loud throughout: peaks for strokes, LUFS for tones and words."""
    meter = pyloudnorm.Meter(RATE)
    n = range(16)
    click = sound_of(plan([prompt(0.5 + k / 2, Layer.CLICK, "downbeat") for k in n], 9.0))
    clap = sound_of(plan([prompt(0.5 + k / 2, Layer.CLAP, "note") for k in n], 9.0))
    soft = sound_of(plan([prompt(0.5 + k / 2, Layer.CLICK, "between") for k in n], 9.0))
    tune = sound_of(
        plan([prompt(k / 2, Layer.TUNE, "note", length_s=0.5, pitches=(60 + k,)) for k in n], 8.0)
    )
    assert 20 * np.log10(np.abs(click).max()) == pytest.approx(STANDARD.click_db, abs=0.01)
    assert 20 * np.log10(np.abs(clap).max()) == pytest.approx(STANDARD.clap_db, abs=0.01)
    assert 20 * np.log10(np.abs(soft).max()) == pytest.approx(STANDARD.click_db - 8, abs=0.01)
    tuned = meter.integrated_loudness(tune.astype(np.float64))
    assert tuned == pytest.approx(STANDARD.tune_lufs, abs=0.5)


@pytest.mark.parametrize("key", ["1", "2", "ready", "&"])
def test_a_spoken_word_stands_at_its_documented_loudness(key: str) -> None:
    """The count is as loud as the tune needs it, whichever the word; by pyloudnorm within 0.5 LU."""
    sound, beat = load_words("en", [key], rate=RATE)[key]
    track = sound_of(plan([prompt(0.5, Layer.COUNT, key)], 2.0))
    begin = samples_at(0.5, RATE) - samples_at(beat, RATE)
    word = np.tile(track[begin : begin + len(sound)].astype(np.float64), (12, 1))
    found = pyloudnorm.Meter(RATE).integrated_loudness(word)
    assert found == pytest.approx(STANDARD.count_lufs, abs=0.5)


@pytest.mark.parametrize(
    ("step_s", "ordinary"), [(0.5, True), (0.25, True), (0.1, True), (0.03, False)]
)
def test_no_track_passes_minus_1_dbtp(step_s: float, *, ordinary: bool) -> None:
    """However much sounds at once nothing distorts, and ordinary tracks are not turned down."""
    track = sound_of(plan(everything(step_s, 24), 1.0 + 24 * step_s))
    assert np.abs(resample_poly(track[:, 0].astype(np.float64), 4, 1)).max() <= CEILING
    alone = sound_of(plan([prompt(0.5, Layer.CLICK, "downbeat")], 1.0))
    at = samples_at(0.5, RATE)
    # The very first sample belongs to click, clap and cue alone; it shows the factor.
    untouched = abs(float(track[at, 0])) > 0.9 * abs(float(alone[at, 0]))
    assert untouched or not ordinary


def test_too_many_sounds_at_once_are_turned_down_together() -> None:
    """Ten claps on one place are as loud as the ceiling allows, in their own shape."""
    one = sound_of(plan([prompt(0.5, Layer.CLAP, "note")], 1.0))
    ten = sound_of(plan([prompt(0.5, Layer.CLAP, "note")] * 10, 1.0))
    assert np.abs(ten).max() < CEILING
    assert np.allclose(ten / np.abs(ten).max(), one / np.abs(one).max(), atol=1e-5)


def test_the_last_stroke_rings_out() -> None:
    """A track does not end with a cut in its last click."""
    track = sound_of(plan([prompt(1.0)], 1.0))
    assert len(track) > RATE
    assert not track[-1].any()
    assert len(sound_of(plan([prompt(0.0)], 1.0))) == RATE


def test_the_accompaniment_is_left_to_the_recording() -> None:
    """Prompts of the recorded accompaniment make no sound of their own."""
    assert not sound_of(plan([prompt(0.1, Layer.ACCOMPANIMENT, "note")], 0.5)).any()


def test_layers_can_stand_left_and_right() -> None:
    """The click in one ear and the clap in the other: each can be followed alone."""
    levels = Levels(pans={Layer.CLICK: -1.0, Layer.CLAP: 1.0})
    prompts = [prompt(0.1, Layer.CLICK, "beat"), prompt(0.5, Layer.CLAP, "note")]
    track = joined(list(track_blocks(plan(prompts, 1.0), {}, RATE, levels=levels)))
    half = round(0.4 * RATE)
    assert not track[:half, 1].any()
    assert not track[half:, 0].any()
    assert track[:half, 0].any()
    assert track[half:, 1].any()


def test_an_accent_is_louder_by_3_db() -> None:
    """Accented notes are heard as such."""
    plain, loud = (
        np.abs(sound_of(plan([prompt(0.1, Layer.CLAP, "note", accent=accent)], 0.5))).max()
        for accent in (False, True)
    )
    assert 20 * np.log10(loud / plain) == pytest.approx(3.0, abs=0.01)


def test_an_unknown_click_is_named() -> None:
    """A plan that is wrong says where."""
    with pytest.raises(RequestError, match="a click is downbeat, beat, between, got 'bell'"):
        track_blocks(plan([prompt(0.1, Layer.CLICK, "bell")], 1.0))


@pytest.mark.parametrize("rate", [0, 8000, 400_000])
def test_an_unusual_rate_is_refused(rate: int) -> None:
    """A rate at which clicks could not sound is refused before anything is made."""
    with pytest.raises(
        RequestError, match=f"the sample rate must be 22050 to 192000 .* got {rate}"
    ):
        track_blocks(plan([], 1.0), {}, rate)
