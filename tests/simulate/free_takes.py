"""A written rhythm played freely, by hand: what the tests of free tempo begin from."""

from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.figures.places import chances
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from rhythmtrain.units import Bpm

Floats = NDArray[np.float64]

LEADS_IN_S = 3.0
WRITTEN = """
1 2 3 & 4 | 1 [&] a 2 3 [&] a 4 & | 1 & [2] & 3 4 | 1 la li 2 3 & 4 |
1 2 (3) (4) | 1 & 2 [&] a 3 4 & | 1 2 & 3 [&] a 4 | 1 & a 2 3 & 4 | 1 2 3 4 | 1 2 3 [4]
"""


def timeline(
    text: str = WRITTEN, *, metre: str = "4/4", tempo: float = 72, practice: Practice | None = None
) -> Timeline:
    """Return the count line ``text`` laid out for practice."""
    bars = read_bars(text, Metre.parse(metre))
    return lay_out(Passage("Made by hand", Bpm(tempo), bars), practice)


def breathing(laid: Timeline, places: Floats, *, depth: float = 0.08) -> Floats:
    """Return when ``places`` (quarters) fall for a player whose tempo swings over eight quarters."""
    fine = np.arange(float(laid.start) - 4, float(laid.stop) + 4, 1 / 48)
    written = [float(laid.seconds(Fraction(float(place)))) for place in fine]
    slowness = 1 + depth * np.sin(2 * np.pi * fine / 8)
    times = np.cumsum(np.diff(written, prepend=written[0]) * slowness)
    played: Floats = LEADS_IN_S + np.interp(places, fine, times)
    return played


def freely(
    laid: Timeline, *, wrong: str = "", bars: tuple[int, ...] = (), depth: float = 0.08
) -> Floats:
    """Return when the notes sound, with the figures named ``wrong`` in ``bars`` (all if empty)."""
    at = np.array([float(note.at) for note in laid.notes])
    late = np.zeros(len(at))
    for chance in chances(laid):
        bar = laid.notes[chance.notes[0]].note.bar
        if chance.what != wrong or (bars and bar not in bars):
            continue
        for note, by in chance.moved:
            at[note] += float(by)
        late[chance.moved[-1][0] + 1 :] += float(chance.after)
    return breathing(laid, at + late, depth=depth)


def take_of(times: Floats) -> Take:
    """Return the times, put in order, as a take."""
    return Take("text", "a.txt", tuple(Heard(float(time)) for time in np.sort(times)), 999.0)
