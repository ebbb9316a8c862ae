"""A plan with recordings in it made audible: what ``track`` makes, mixed with slowed recordings.

Everything but the recordings is made after they were slowed, on its own samples, and never slowed
itself.  One factor keeps the true peak of the whole below -1 dBTP, as in ``track``.
"""

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.prompts.plan import Plan
from rhythmtrain.render.mixer import BLOCK, STEREO, render_blocks
from rhythmtrain.render.peaks import ceiling_gain
from rhythmtrain.render.recorded import Played, recorded_blocks
from rhythmtrain.render.track import NO_WORDS, placed_sounds, track_frames
from rhythmtrain.render.words import Words
from rhythmtrain.units import samples_at


def blocks_with_recordings(
    plan: Plan,
    pieces: tuple[Played, ...],
    words: Words = NO_WORDS,
    rate: int = 44_100,
    *,
    channels: int = STEREO,
    block: int = BLOCK,
) -> Iterator[NDArray[np.float32]]:
    """Yield the sound of ``plan`` and ``pieces``, arrays of shape ``(block, channels)``.

    The track is as long as the plan, or as its last sound or recording rings.

    Raises:
        RequestError: a word that is missing, a text that is no click.
        FileError: a recording turns out damaged.
    """
    sounds = placed_sounds(plan, words, rate)
    rung = max((samples_at(each.ends_s, rate) for each in pieces), default=0)
    frames = max(track_frames(plan, sounds, rate), rung)

    def mixed(channels: int, size: int) -> Iterator[NDArray[np.float32]]:
        own = render_blocks(sounds, frames, channels=channels, block=size)
        beside = recorded_blocks(pieces, rate, frames, channels=channels, block=size)
        for here, there in zip(own, beside, strict=True):
            yield here + there

    gain = np.float32(ceiling_gain(mixed(channels, BLOCK)))
    return (each * gain for each in mixed(channels, block))
