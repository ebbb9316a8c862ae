"""Every supplied word in a finished file: its beat on the sample of its prompt."""

from pathlib import Path

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from rhythmtrain.hearing.beat_point import beat_point
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.render.track import track_blocks
from rhythmtrain.storage.audio_files import write_audio
from rhythmtrain.storage.sounds import languages, load_words, word_keys
from tests.simulate.plans import plan, prompt
from tests.simulate.spoken import beat_windows

APART_S = 1.5
# No word begins more than 0.22 s before its beat, and none sounds a second after it.
BEFORE_S, AFTER_S = 0.3, 1.1
EVERY = 5
# A sample is promised; the worst word of the supplied voices misses by 0.13.
MOST_SAMPLES = 0.25


def places_s(count: int) -> list[float]:
    """Return times 1.5 s apart, each falling elsewhere between two samples."""
    return [1.0 + APART_S * n + 0.000_007_3 * (n % 13) for n in range(count)]


def misplaced(folder: Path, language: str, keys: list[str], rate: int) -> dict[str, float]:
    """Return by how many samples the beat of each word in a written track misses its prompt's.

    A word whose beat lies in a part of it is measured in that part, counted from where it begins.
    """
    words, windows = load_words(language, keys, rate=rate), beat_windows(language)
    times = dict(zip(keys, places_s(len(keys)), strict=True))
    prompts = [prompt(at, Layer.COUNT, key) for key, at in times.items()]
    blocks = track_blocks(plan(prompts, APART_S * len(keys) + 2), words, rate, channels=1)
    path = folder / f"{language}-{rate}.wav"
    write_audio(path, blocks, rate, title=language, comment="")
    track, _ = soundfile.read(path)
    return {
        key: measured(track, rate, at, windows.get(key, {}), words[key][1]) - round(at * rate)
        for key, at in times.items()
    }


def measured(
    track: NDArray[np.float64], rate: int, at: float, window: dict[str, float], beat_s: float
) -> float:
    """Return the sample of ``track`` on which the beat of the word near ``at`` is found."""
    begins = round(at * rate) - round((beat_s if window else BEFORE_S) * rate)
    heard = track[begins : begins + round((BEFORE_S + AFTER_S) * rate)]
    return begins + beat_point(heard, rate, **window) * rate


@pytest.mark.parametrize("rate", [44_100, pytest.param(48_000, marks=pytest.mark.long)])
@pytest.mark.parametrize("language", languages())
def test_the_beat_of_every_word_in_the_file_lies_on_its_prompt(
    tmp_path: Path, language: str, rate: int
) -> None:
    """A count is felt with the click, in every language: measured from the file."""
    keys = list(word_keys(language))
    assert len(keys) == 163
    missed = misplaced(tmp_path, language, keys, rate)
    assert {key: by for key, by in missed.items() if abs(by) > MOST_SAMPLES} == {}


@pytest.mark.parametrize("language", languages())
def test_at_48_000_samples_a_second_the_beat_lies_on_its_prompt_too(
    tmp_path: Path, language: str
) -> None:
    """Every fifth word, and every one with a part to look at, wherever the sound is played."""
    windows = beat_windows(language)
    keys = [key for n, key in enumerate(word_keys(language)) if n % EVERY == 0 or key in windows]
    missed = misplaced(tmp_path, language, keys, 48_000)
    assert {key: by for key, by in missed.items() if abs(by) > MOST_SAMPLES} == {}
