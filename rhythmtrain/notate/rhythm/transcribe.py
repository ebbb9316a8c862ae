"""Writing down a clapped rhythm: onsets in seconds to a passage, with how sure each bar is.

Where the first note falls has to be said (the first count of a bar, unless it is), and so has the
metre: nothing in the claps tells them.  The tempo and a constant lag are found; a tempo that was said
is a hint, good to a few in a hundred.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

import numpy as np

from rhythmtrain.errors import TakeError
from rhythmtrain.notate.rhythm.bars import ReadBeat, onset_places, read_beats, written_bars
from rhythmtrain.notate.rhythm.doubts import bar_shares, figure_doubts
from rhythmtrain.notate.rhythm.figures import Figure
from rhythmtrain.notate.rhythm.filter import Floats
from rhythmtrain.notate.rhythm.search import Found, search
from rhythmtrain.notate.rhythm.tries import FEWEST_NOTES, split_tries
from rhythmtrain.remedies import option, remedy
from rhythmtrain.score.counts import beat_at, count_name, place_of
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Kind, Passage
from rhythmtrain.score.tempo import beats_a_minute, quarters_a_minute
from rhythmtrain.units import Bpm, beat_seconds, checked_tempo

MOST_ONSETS = 400
# Of bars called surer than this nearly all are right, at a tempo that was said and at one that was
# found: see tests/simulate/transcribe_table.py.
DOUBTFUL_BELOW, DOUBTFUL_BELOW_FOUND = 0.9, 0.95
# A tempo that was said is a hint, but not for another tempo.
MOST_APART = 1.25


@dataclass(frozen=True, slots=True)
class Asked:
    """What the person said: the metre of each bar (the last goes on), and what else they knew.

    ``first`` is the count on which the first note falls, ``times`` how often the passage comes.
    """

    metres: tuple[Metre, ...]
    tempo: float | None = None
    first: str = "1"
    times: int | None = None
    title: str = "Written down"


@dataclass(frozen=True, slots=True)
class BarSureness:
    """How sure a bar is (0 to 1), and for its doubtful figures (count, what else it could be).

    A bar surer than ``sure_from`` need not be looked at.
    """

    bar: int
    chance: float
    doubts: tuple[tuple[str, str], ...]
    sure_from: float = DOUBTFUL_BELOW

    @property
    def doubtful(self) -> bool:
        """Return whether the bar should be looked at."""
        return self.chance < self.sure_from


@dataclass(frozen=True, slots=True)
class Transcription:
    """A passage written down from a take.

    ``tempo`` is what was played, in beats a minute; ``spread_s`` how unevenly (the standard deviation
    of one onset); ``tries`` how many were read together, ``left_out`` the onsets of each that was not.
    """

    passage: Passage
    bars: tuple[BarSureness, ...]
    tempo: Bpm
    spread_s: float
    tries: int
    left_out: tuple[int, ...]


def transcribe(onsets_s: Sequence[float], asked: Asked) -> Transcription:
    """Return the likeliest passage for onsets in seconds, in order.

    Raises:
        TakeError: too few or too many onsets, or none of the figures known fits them.
        DrillError: the first count is none of the metre.
        RequestError: a tempo nobody plays, or tries that do not divide.
    """
    metre = asked.metres[0]
    at = place_of(metre, asked.first)
    beat = beat_at(metre, at)
    quarter_s = _quarter_s(asked.tempo, metre)
    bar_s = None if quarter_s is None else quarter_s * float(metre.length)
    tries = split_tries(onsets_s, asked.times, bar_s=bar_s)
    many = len(tries.together[0])
    if not FEWEST_NOTES <= many <= MOST_ONSETS:
        raise TakeError(f"{FEWEST_NOTES} to {MOST_ONSETS} claps can be written down, not {many}")
    found = search(
        tries.together,
        asked.metres,
        (beat, at - metre.beats[beat].start),
        quarter_s=quarter_s,
    )
    if found is None:
        raise TakeError(
            f"these claps fit no rhythm in this metre: give {option('tempo')}, or {remedy('check-metre')}"
        )
    beats = tuple(read_beats(found, asked.metres, beat))
    bars = written_bars(beats, asked.metres, found.readings[0].pauses)
    tempo, spread_s = _played(tries.together, onset_places(beats), found, metre)
    if asked.tempo is not None and not 1 / MOST_APART < tempo / asked.tempo < MOST_APART:
        raise TakeError(
            f"these claps fit no rhythm at {asked.tempo:g} beats a minute (they go better at "
            f"{tempo:.0f}): {remedy('check-tempo')}"
        )
    passage = Passage(asked.title, Bpm(asked.tempo or round(tempo)), bars)
    sure_from = DOUBTFUL_BELOW if asked.tempo else DOUBTFUL_BELOW_FOUND
    sure = tuple(
        replace(bar, sure_from=sure_from)
        for bar in _sureness(found, beats, passage, tries.together)
    )
    return Transcription(passage, sure, tempo, spread_s, len(tries.together), tries.left_out)


def _quarter_s(tempo: float | None, metre: Metre) -> float | None:
    if tempo is None:
        return None
    return float(beat_seconds(quarters_a_minute(checked_tempo(tempo), metre)))


def _played(
    tries: Sequence[Floats], places: Sequence[Fraction], found: Found, metre: Metre
) -> tuple[Bpm, float]:
    """Return the tempo that was played, and the spread about it.

    The tempo is the median over pairs of neighbours two notes apart, which a pause does not move.
    """
    at = np.array([float(place) for place in places])
    apart = min(2, len(at) - 1)
    steps = np.concatenate(
        [(row[apart:] - row[:-apart]) / (at[apart:] - at[:-apart]) for row in tries]
    )
    return beats_a_minute(60 / float(np.median(steps)), metre), found.timing.spread_s


def _sureness(
    found: Found, beats: Sequence[ReadBeat], passage: Passage, tries: Sequence[Floats]
) -> Iterator[BarSureness]:
    """Yield how sure each bar is."""
    shares = bar_shares(found, [beat.bar for beat in beats])
    doubts = figure_doubts(found, tries)
    for index, bar in enumerate(passage.bars):
        inside = [doubt for doubt in doubts if beats[doubt.beat].bar == index]
        together = float(np.prod([doubt.chance for doubt in inside]))
        chance = min(together, shares.get(index, 1.0)) * found.tempo_share
        named = tuple(
            (
                count_name(bar.metre, beats[doubt.beat].start),
                _counts(bar.metre, beats[doubt.beat], doubt.other),
            )
            for doubt in inside
            if doubt.other is not None
        )
        yield BarSureness(bar.number, chance, named)


def _counts(metre: Metre, beat: ReadBeat, figure: Figure) -> str:
    """Return the counts on which the notes of ``figure`` would fall."""
    return " ".join(count_name(metre, beat.start + place) for place in figure.at)


def straight_again(passage: Passage) -> int | None:
    """Return after how many bars (two at least) the whole passage comes again, or None."""
    rows = [
        (bar.metre, [place.at for place in bar.places if place.kind is Kind.PLAYED])
        for bar in passage.bars
    ]
    for length in range(2, len(rows) // 2 + 1):
        if len(rows) % length == 0 and all(
            rows[index] == rows[index % length] for index in range(len(rows))
        ):
            return length
    return None
