"""The player's own strokes among all that may be claps, where somebody counts aloud meanwhile.

Every onset is kept with what is heard near it, because a word often hides the moment of the clap on
the same beat; what the player's strokes are like is only known when all was heard.
"""

from collections.abc import Iterator, Sequence

from rhythmtrain.hearing.onsets.level import Mono
from rhythmtrain.hearing.onsets.onset import Onset
from rhythmtrain.hearing.onsets.sorting import sorted_out
from rhythmtrain.hearing.onsets.strokes import Stroke, strokes_near

MOVED_S, MOVED_ERROR_S = 0.006, 0.002

Candidate = tuple[Onset, Stroke]


def candidates_near(onset: Onset, sound: Mono, first: int, rate: int) -> Iterator[Candidate]:
    """Yield what may be strokes near ``onset``; ``sound`` begins at sample ``first`` of the stream."""
    place = round(onset.time_s * rate) - first
    return ((onset, stroke) for stroke in strokes_near(sound, place, rate))


def own_strokes(among: Sequence[Candidate]) -> list[Onset]:
    """Return the player's strokes ``among`` candidates, each where it is steepest."""
    own = []
    times_s = [onset.time_s + stroke.moved_s for onset, stroke in among]
    for index in sorted_out([stroke for _, stroke in among], times_s):
        onset, stroke = among[index]
        if abs(stroke.moved_s) > MOVED_S:
            onset = Onset(max(0.0, times_s[index]), onset.strength, MOVED_ERROR_S)
        own.append(onset)
    return own
