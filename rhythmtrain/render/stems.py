"""A track in stems: each layer alone, so that a listener can turn it up, down and off while it plays.

All stems begin at the first sample of the track and are as long.  Together, each at its own level, they are the track
that ``tracks.track`` and ``tracks.recordings`` make of the same plan: the one factor that keeps the true
peak of the whole below -1 dBTP is in every stem.
"""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.render.mixer import BLOCK, STEREO, Placed, render_blocks
from rhythmtrain.render.peaks import ceiling_gain
from rhythmtrain.render.recorded import Played, recorded_blocks
from rhythmtrain.render.track import NO_WORDS, placed_sounds, track_frames
from rhythmtrain.render.words import Words
from rhythmtrain.units import samples_at

Stem = Iterator[NDArray[np.float32]]


def stem_blocks(
    plan: Plan,
    pieces: tuple[Played, ...] = (),
    words: Words = NO_WORDS,
    rate: int = 44_100,
    *,
    channels: int = STEREO,
) -> dict[Layer, Stem]:
    """Return the sound of each layer of ``plan`` that sounds at all, in arrays ``(n, channels)``.

    ``pieces`` are the recordings laid in the plan, at ``rate``.

    Raises:
        RequestError: a word that is missing, a text that is no click.
        FileError: a recording turns out damaged.
    """
    everything = placed_sounds(plan, words, rate)
    rung = max((samples_at(each.ends_s, rate) for each in pieces), default=0)
    frames = max(track_frames(plan, everything, rate), rung)
    whole = _Stem(everything, pieces, frames, rate)
    gain = np.float32(ceiling_gain(whole.blocks(channels)))
    stems: dict[Layer, Stem] = {}
    for layer in Layer:
        own = replace(plan, prompts=tuple(each for each in plan.prompts if each.layer is layer))
        sounds = placed_sounds(own, words, rate)
        laid = tuple(each for each in pieces if each.laid.layer is layer)
        if sounds or laid:
            stems[layer] = _louder(_Stem(sounds, laid, frames, rate).blocks(channels), gain)
    return stems


def _louder(blocks: Stem, gain: np.float32) -> Stem:
    return (block * gain for block in blocks)


class _Stem:
    """Sounds and recordings that are heard together, given out again whenever asked."""

    def __init__(
        self, sounds: tuple[Placed, ...], pieces: tuple[Played, ...], frames: int, rate: int
    ) -> None:
        self._sounds, self._pieces, self._frames, self._rate = sounds, pieces, frames, rate

    def blocks(self, channels: int) -> Stem:
        own = render_blocks(self._sounds, self._frames, channels=channels, block=BLOCK)
        if not self._pieces:
            yield from own
            return
        beside = recorded_blocks(
            self._pieces, self._rate, self._frames, channels=channels, block=BLOCK
        )
        for here, there in zip(own, beside, strict=True):
            yield here + there
