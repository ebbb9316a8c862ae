"""A speech recogniser that knows digits and nothing of the passage: pocketsphinx."""

import numpy as np
import pocketsphinx
from numpy.typing import NDArray

DIGITS = ("one", "two", "three", "four", "five", "six", "seven", "eight")
RATE = 16_000


def understood(sound: NDArray[np.float64], count: int) -> list[str]:
    """Return the ``count`` digits that are heard in ``sound``, at ``RATE``, whichever they are.

    The second hearing counts: it adapts to the level of the voice during the first.
    """
    decoder = pocketsphinx.Decoder(samprate=RATE, lm=None, loglevel="FATAL")
    words = " ".join(["<d>"] * count)
    grammar = f"#JSGF V1.0; grammar g; <d> = {'|'.join(DIGITS)}; public <s> = {words};"
    decoder.add_jsgf_string("digits", grammar)
    decoder.activate_search("digits")
    pcm = (np.clip(sound, -1.0, 1.0) * 32_767).astype("<i2").tobytes()
    for _ in range(2):
        decoder.start_utt()
        decoder.process_raw(pcm, full_utt=True)
        decoder.end_utt()
    heard = decoder.hyp()
    return [] if heard is None else str(heard.hypstr).split()
