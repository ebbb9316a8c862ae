"""Small plans to render: prompts at given times, and words with a beat that can be seen."""

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.prompts.plan import Layer, Plan, Prompt
from rhythmtrain.units import Seconds


def prompt(
    time_s: float, layer: Layer = Layer.CLICK, text: str = "beat", *, length_s: float = 0.0,
    accent: bool = False, pitches: tuple[int, ...] = (),
) -> Prompt:  # fmt: skip
    """Return one prompt of bar 1."""
    return Prompt(
        Seconds(time_s), layer, text, 1, "1", 1, length_s=length_s, accent=accent, pitches=pitches
    )


def plan(
    prompts: Sequence[Prompt], duration_s: float, *, tempo: float = 120.0,
    entries_s: tuple[float, ...] = (),
) -> Plan:  # fmt: skip
    """Return a plan of one steady tempo in 4/4."""
    return Plan(
        title="Towpath Rag",
        tempo_words="quarter = 120",
        count_in_s=Seconds(0.0),
        duration_s=Seconds(duration_s),
        prompts=tuple(prompts),
        tempi=((0.0, tempo),),
        metres=((0.0, 4, 4),),
        markers=((0.0, "bar 1"),),
        entries_s=entries_s,
    )


def vowel(length_s: float, beat_s: float, rate: int) -> NDArray[np.float32]:
    """Return a made-up word: hiss up to ``beat_s``, then a vowel that dies away, ends at 0."""
    n = np.arange(round(length_s * rate))
    voiced = 1 / (1 + np.exp(-(n / rate - beat_s) / 0.004))
    body = sum(
        np.sin(2 * np.pi * hertz * n / rate) / k for k, hertz in enumerate((300, 600, 900), 1)
    )
    ends = np.minimum(1.0, np.minimum(n, len(n) - 1 - n) / (0.004 * rate))
    return np.asarray(0.3 * voiced * body * ends, dtype=np.float32)


def joined(blocks: Sequence[NDArray[np.float32]]) -> NDArray[np.float32]:
    """Return blocks as one array of shape ``(n, channels)``."""
    return np.concatenate(list(blocks))
