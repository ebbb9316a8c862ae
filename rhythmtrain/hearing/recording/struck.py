"""Whether something is struck at moments that are known, such as the beats and their parts.

Where the moments are known the question is easier than finding onsets: how much do all bands rise
around each, beside the loud ones among them?  The mean rise of the bands in dB over 20 ms, each counting
for 8 dB at most so that a stroke after silence is not everything, is compared with its 90th percentile
over all the moments asked about.  Most and share were chosen on 12 generated piano performances with
rubato, pedal and room (tests/simulate/performances.py): of the quarters of beats 97 % of those struck
were found, and 99 % of those found were struck; seven in ten stretches of two bars were without a fault.
Held-out ones see tests/hearing/recording/test_struck.py.  A soft stroke under chords that sound on is missed.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from rhythmtrain.hearing.recording.beat_evidence import band_rises
from rhythmtrain.hearing.recording.spectra import BAND_HOP_S, Spectra

REACH_S = 0.035
LOUD_PLACES = 90.0
MOST_DB = 8.0
SHARE, UNSURE_FROM, UNSURE_TO = 0.22, 0.14, 0.32


@dataclass(frozen=True, slots=True)
class Struck:
    """Of each moment: whether something is ``struck`` there, and whether that is ``unsure``."""

    struck: tuple[bool, ...]
    unsure: tuple[bool, ...]


def struck_at(spectra: Spectra, seconds: ArrayLike) -> Struck:
    """Return at which of ``seconds``, shape (n,), something is struck."""
    rises = np.minimum(band_rises(spectra.bands), MOST_DB).mean(axis=1)
    shares = []
    for second in np.asarray(seconds, dtype=np.float64).tolist():
        first = max(int((second - REACH_S) / BAND_HOP_S), 0)
        near = rises[first : int((second + REACH_S) / BAND_HOP_S) + 2]
        shares.append(float(near.max()) if near.size else 0.0)
    loud = float(np.percentile(shares, LOUD_PLACES)) if shares else 0.0
    if not loud:
        return Struck((False,) * len(shares), (False,) * len(shares))
    return Struck(
        tuple(share > SHARE * loud for share in shares),
        tuple(UNSURE_FROM * loud < share < UNSURE_TO * loud for share in shares),
    )
