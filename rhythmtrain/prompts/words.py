"""Spoken words before they become prompts: what is said where, and which gives way to which."""

from dataclasses import dataclass
from enum import IntEnum

from rhythmtrain.prompts.plan import Layer, Prompt
from rhythmtrain.prompts.spots import Spot, prompt_at
from rhythmtrain.timing.timeline import Timeline
from rhythmtrain.units import Seconds

# Words that must not be hurried need this long: a number at a clear pace, cut at its tail.
WORD_ROOM_S = 0.250
ROUNDING_S = 1e-6
# Longer numbers, from this one on, need longer: 21 to 99 sound for up to 0.48 s after their beat
# point in the supplied English voice, 13 to 20 for 0.39 s; then the next word begins.
LONG_NUMBERS_S = ((21, 0.55), (13, 0.45))


class Rank(IntEnum):
    """Which word stays where two would come too close: the lower one."""

    SIGN = 0
    DOWNBEAT = 1
    GROUP = 2
    BEAT = 3
    INSIDE = 4


@dataclass(frozen=True, slots=True)
class Word:
    """One word: where, when (track time of its beat point), its key in the voice, its rank."""

    spot: Spot
    time_s: Seconds
    text: str
    rank: Rank


def word_at(timeline: Timeline, spot: Spot, text: str, rank: Rank) -> Word:
    """Return the word ``text`` at ``spot``."""
    return Word(spot, timeline.track_seconds(spot.at), text, rank)


def spoken(timeline: Timeline, word: Word) -> Prompt:
    """Return the prompt that says ``word``."""
    return prompt_at(timeline, word.spot, Layer.COUNT, word.text)


def room_s(text: str) -> float:
    """Return how long the word ``text`` needs until the next one."""
    number = int(text) if text.isdecimal() else 0
    return next((room for lowest, room in LONG_NUMBERS_S if number >= lowest), WORD_ROOM_S)


def crowded(gap_s: float) -> bool:
    """Tell whether two words ``gap_s`` apart come too close to be said clearly."""
    return abs(gap_s) < WORD_ROOM_S - ROUNDING_S
