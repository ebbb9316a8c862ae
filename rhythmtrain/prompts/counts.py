"""The spoken count of the passage: which places are said, and with what word.

Beats are always said where the count sounds; the places between them where they are played, or
all that are counted.  A bar of rest is counted in numbers in every system.  Where a system has no
syllable (Kodály's on a held beat, any on a fifth of a beat) nothing is said.
"""

from collections.abc import Iterator, Mapping
from fractions import Fraction

from rhythmtrain.prompts.audible import COUNTED, Audible
from rhythmtrain.prompts.clicks import group_starts
from rhythmtrain.prompts.count_in import counted
from rhythmtrain.prompts.rests import bar_numbers, silent_bars
from rhythmtrain.prompts.say import Say
from rhythmtrain.prompts.spots import Spot, beats_of
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.prompts.words import Rank, Word, word_at
from rhythmtrain.score.counting import NUMBERS, word_key
from rhythmtrain.score.passage import Kind
from rhythmtrain.timing.timeline import PlayedBar, Timeline

# How long the note lasts that begins at a place along the timeline, in quarters.
Lengths = Mapping[Fraction, Fraction]


def counts(timeline: Timeline, audible: tuple[Audible, ...], wishes: Wishes) -> Iterator[Word]:
    """Yield every count that the wishes ask for, crowded or not, in order of time."""
    numbers = bar_numbers(timeline) if wishes.count_rests else {}
    silent = silent_bars(timeline)
    lengths = {note.at: note.note.length for note in timeline.notes}
    for place, (played, lets) in enumerate(zip(timeline.bars, audible, strict=True)):
        if lets.say is None:
            continue
        if played.role in COUNTED:
            said = counted(timeline, place, quick=wishes.quick)
        else:
            system = NUMBERS if place in silent else wishes.counting
            spots = _spots(place, played, lets.say)
            said = _with_words(spots, system, lengths, numbers.get(place))
        for spot, text in said:
            yield word_at(timeline, spot, text, rank_of(spot))


def rank_of(spot: Spot) -> Rank:
    """Return the rank of the count at ``spot``."""
    metre = spot.played.bar.metre
    if not spot.into:
        return Rank.DOWNBEAT
    if all(beat.start != spot.into for beat in metre.beats):
        return Rank.INSIDE
    grouped = len(metre.groups) > 1 and spot.into in group_starts(metre)
    return Rank.GROUP if grouped else Rank.BEAT


def _spots(place: int, played: PlayedBar, say: Say) -> list[Spot]:
    """Return the places of one bar to be said, in order."""
    spots = {spot.into: spot for spot in beats_of(place, played)}
    for each in played.bar.places:
        if say is Say.ALL or (say is Say.PLAYED and each.kind is Kind.PLAYED):
            spots.setdefault(each.at, Spot(place, played, each.at))
    return [spots[into] for into in sorted(spots)]


def _with_words(
    spots: list[Spot], system: str, lengths: Lengths, number: int | None
) -> Iterator[tuple[Spot, str]]:
    """Yield ``spots`` with their words; ``number`` replaces that of beat 1."""
    for spot in spots:
        metre = spot.played.bar.metre
        text = word_key(metre, spot.into, system, length=lengths.get(spot.at))
        if number is not None and not spot.into:
            text = str(number)
        if text is not None:
            yield spot, text
