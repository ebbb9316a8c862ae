"""The spoken count of the passage: which places are said, and with what word.

Beats are always said where the count sounds; the places between them where they are played, or
all that are counted.  A bar of a long rest is counted in numbers in every system.
"""

from collections.abc import Iterator

from rhythmtrain.prompts.audible import COUNTED, Audible
from rhythmtrain.prompts.clicks import group_starts
from rhythmtrain.prompts.count_in import counted
from rhythmtrain.prompts.rests import bar_numbers
from rhythmtrain.prompts.say import Say
from rhythmtrain.prompts.spots import Spot, beats_of
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.prompts.words import Rank, Word, word_at
from rhythmtrain.score.counts import beat_at, inside_beat
from rhythmtrain.score.passage import Kind
from rhythmtrain.timing.timeline import Timeline

# Syllables said otherwise than written; a fraction such as "+1/5" has no word and is not said.
SAID_AS = {"lata": "ta", "lita": "ta"}


def counts(timeline: Timeline, audible: tuple[Audible, ...], wishes: Wishes) -> Iterator[Word]:
    """Yield every count that the wishes ask for, crowded or not, in order of time."""
    numbers = bar_numbers(timeline) if wishes.count_rests else {}
    for place, (played, lets) in enumerate(zip(timeline.bars, audible, strict=True)):
        if lets.say is None:
            continue
        if played.role in COUNTED:
            said = list(counted(timeline, place, quick=wishes.quick))
        else:
            said = _said(timeline, place, lets.say, numbers.get(place))
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


def word_for(spot: Spot) -> str | None:
    """Return the word that counts ``spot`` in numbers, or None where there is none."""
    metre = spot.played.bar.metre
    index = beat_at(metre, spot.into)
    beat = metre.beats[index]
    inside = inside_beat(beat, (spot.into - beat.start) / beat.length)
    if not inside:
        return str(index + 1)
    return None if inside.startswith("+") else SAID_AS.get(inside, inside)


def _said(timeline: Timeline, place: int, say: Say, number: int | None) -> list[tuple[Spot, str]]:
    played = timeline.bars[place]
    spots = {spot.into: spot for spot in beats_of(place, played)}
    for counted_place in played.bar.places:
        if say is Say.ALL or (say is Say.PLAYED and counted_place.kind is Kind.PLAYED):
            spots.setdefault(counted_place.at, Spot(place, played, counted_place.at))
    said = []
    for into in sorted(spots):
        text = str(number) if number is not None and not into else word_for(spots[into])
        if text is not None:
            said.append((spots[into], text))
    return said
