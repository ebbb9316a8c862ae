"""A plan made audible: every prompt in its voice, at its level, on its sample.

Levels are fixed, so that every track of a ladder is as loud as the next: strokes by their peak
(decibels below full scale), words and tones by their loudness (LUFS, both channels).  A stroke on
the downbeat stands out by its pitch, one between the beats is softer, an accent is 3 dB louder.
Where so much meets that the true peak would pass -1 dBTP the whole track is made softer by one
factor (``peaks``).
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from functools import partial

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer, Plan, Prompt
from rhythmtrain.render.mixer import BLOCK, MONO, STEREO, Placed, Sound, render_blocks
from rhythmtrain.render.peaks import ceiling_gain
from rhythmtrain.render.tones import CUE, TUNE, Timbre, sounding, tone
from rhythmtrain.render.voices import BEAT, BETWEEN, DOWNBEAT, WOOD, Bar, clapped, struck
from rhythmtrain.render.words import Words, spoken
from rhythmtrain.units import samples_at

ACCENT_DB = 3.0
BETWEEN_DB = -8.0
LOWEST_RATE, HIGHEST_RATE = 22_050, 192_000

CLICKS: dict[str, tuple[Bar, float]] = {
    "downbeat": (DOWNBEAT, 0.0),
    "beat": (BEAT, 0.0),
    "between": (BETWEEN, BETWEEN_DB),
}


@dataclass(frozen=True, slots=True)
class Levels:
    """How loud each layer is and where it stands between the ears.

    ``click_db``, ``clap_db`` and ``wood_db`` (a cue without pitches) are peaks below full scale;
    ``count_lufs``, ``tune_lufs`` and ``cue_lufs`` are loudness.  ``pans`` moves a layer from the
    centre: -1 is left, 1 is right.
    """

    click_db: float = -12.0
    clap_db: float = -12.0
    wood_db: float = -12.0
    count_lufs: float = -22.0
    tune_lufs: float = -25.0
    cue_lufs: float = -25.0
    pans: Mapping[Layer, float] = field(default_factory=dict)


STANDARD = Levels()
NO_WORDS: Words = {}


def track_blocks(
    plan: Plan,
    words: Words = NO_WORDS,
    rate: int = 44_100,
    *,
    levels: Levels = STANDARD,
    channels: int = STEREO,
    block: int = BLOCK,
) -> Iterator[NDArray[np.float32]]:
    """Yield the sound of ``plan``, arrays of shape ``(block, channels)``, full scale 1.

    ``words`` are the spoken words by key, mono at ``rate``, each with its beat point in seconds.
    The track ends with the plan, or when the last sound has died away.  Any ``block`` gives the
    same samples.

    Raises:
        RequestError: a word that is missing, a text that is no click, an unusual sample rate.
    """
    if not LOWEST_RATE <= rate <= HIGHEST_RATE:
        raise RequestError(
            f"the sample rate must be {LOWEST_RATE} to {HIGHEST_RATE} samples a second, got {rate}"
        )
    sounds = placed_sounds(plan, words, rate, levels)
    frames = track_frames(plan, sounds, rate)
    ears = STEREO if any(each.pan for each in sounds) else MONO
    gain = ceiling_gain(render_blocks(sounds, frames, channels=ears))
    if gain < 1:
        sounds = tuple(replace(each, gain=each.gain * gain) for each in sounds)
    return render_blocks(sounds, frames, channels=channels, block=block)


def placed_sounds(
    plan: Plan, words: Words, rate: int, levels: Levels = STANDARD
) -> tuple[Placed, ...]:
    """Return every sound of ``plan`` at its sample and level, in no particular order."""
    said = [prompt for prompt in plan.prompts if prompt.layer is Layer.COUNT]
    spoken_words = spoken(said, words, plan.entries_s, rate=rate, lufs=levels.count_lufs)
    sounds = [replace(each, pan=levels.pans.get(Layer.COUNT, 0.0)) for each in spoken_words]
    for prompt in plan.prompts:
        if prompt.layer in (Layer.COUNT, Layer.ACCOMPANIMENT):
            continue
        sounds.append(_sound(prompt, rate, levels))
    return tuple(sounds)


def track_frames(plan: Plan, sounds: tuple[Placed, ...], rate: int) -> int:
    """Return the length of the track in samples: the plan's, or more where a sound still rings."""
    rung = max((each.at + each.length for each in sounds), default=0)
    return max(samples_at(plan.duration_s, rate), rung)


def _sound(prompt: Prompt, rate: int, levels: Levels) -> Placed:
    pan = levels.pans.get(prompt.layer, 0.0)
    louder = ACCENT_DB if prompt.accent else 0.0
    if prompt.layer is Layer.CLICK:
        if prompt.text not in CLICKS:
            raise RequestError(f"a click is {', '.join(CLICKS)}, got {prompt.text!r}")
        bar, softer = CLICKS[prompt.text]
        return _stroke(prompt, struck(bar, rate), rate, levels.click_db + softer + louder, pan)
    if prompt.layer is Layer.CLAP:
        return _stroke(prompt, clapped(rate), rate, levels.clap_db + louder, pan)
    if not prompt.pitches:
        return _stroke(prompt, struck(WOOD, rate), rate, levels.wood_db + louder, pan)
    if prompt.layer is Layer.TUNE:
        return _toned(prompt, TUNE, rate, levels.tune_lufs + louder, pan)
    return _toned(prompt, CUE, rate, levels.cue_lufs + louder, pan)


def _stroke(prompt: Prompt, sound: Sound, rate: int, peak_db: float, pan: float) -> Placed:
    at = samples_at(prompt.time_s, rate)
    return Placed(at, len(sound), lambda: sound, 10 ** (peak_db / 20), pan)


def _toned(prompt: Prompt, timbre: Timbre, rate: int, lufs: float, pan: float) -> Placed:
    length = sounding(prompt.length_s, rate)
    make = partial(tone, timbre, prompt.pitches, length, rate)
    return Placed(samples_at(prompt.time_s, rate), length, make, 10 ** (lufs / 20), pan)
