"""Words that come too close are thinned to the beats, so that what is said can be understood.

Signs ("ready") stay and their neighbours give way.  Where the beats of a bar crowd, only the
first of each group is said, then only the first of the bar.  Where the places inside a beat
crowd, only the beat is: a beat is said finely or not at all, never with holes.  After a long
number in a long rest the next beat is left out where the number would run into it.
"""

from bisect import bisect_left
from collections.abc import Iterable
from itertools import groupby, pairwise

from rhythmtrain.prompts.words import ROUNDING_S, WORD_ROOM_S, Rank, Word, crowded, room_s
from rhythmtrain.score.counts import beat_at


def thinned(words: Iterable[Word], end_s: float) -> list[Word]:
    """Return ``words`` in order, each at least 250 ms before the next and before ``end_s``."""
    ordered = sorted(words, key=lambda word: (word.time_s, word.rank))
    kept: list[Word] = []
    for word in ordered:
        if word.rank is Rank.SIGN and _free(kept, word):
            kept.append(word)
    ordered = [word for word in ordered if word.rank is not Rank.SIGN and _free(kept, word)]
    crowded_bars: set[int] = set()
    for rank in (Rank.DOWNBEAT, Rank.GROUP, Rank.BEAT, Rank.INSIDE):
        here = [w for w in ordered if w.rank is rank and w.spot.place not in crowded_bars]
        more, crowding = _fitting(here, kept, end_s)
        crowded_bars |= crowding if rank is not Rank.INSIDE else set()
        kept = sorted([*kept, *more], key=lambda word: word.time_s)
    return kept


def with_room(words: list[Word]) -> list[Word]:
    """Return ``words`` without the beats that a bar's long number would run into: "27 - 3 4"."""
    kept = words[:1]
    for word in words[1:]:
        before = kept[-1]
        gap = word.time_s - before.time_s
        gives_way = before.rank is Rank.DOWNBEAT and word.rank > Rank.DOWNBEAT
        if not (gives_way and gap < room_s(before.text) - ROUNDING_S):
            kept.append(word)
    return kept


def _fitting(words: list[Word], kept: list[Word], end_s: float) -> tuple[list[Word], set[int]]:
    """Return those of ``words``, all of one rank, that have room, and the bars of the others."""
    more: list[Word] = []
    crowding: set[int] = set()
    for (place, _), group in groupby(words, key=_together):
        members = list(group)
        times = [word.time_s for word in [*more[-1:], *members]]
        tight = any(crowded(after - before) for before, after in pairwise([*times, end_s]))
        if tight or not all(_free(kept, member) for member in members):
            crowding.add(place)
        else:
            more.extend(members)
    return more, crowding


def _together(word: Word) -> tuple[int, int]:
    """Return what stands or falls together: the beats of a bar, the places of a beat."""
    place = word.spot.place
    if word.rank is Rank.INSIDE:
        return place, beat_at(word.spot.played.bar.metre, word.spot.into)
    return place, 0


def _free(kept: list[Word], word: Word) -> bool:
    """Tell whether ``word`` keeps its distance from ``kept``, which is in order of time."""
    index = bisect_left(kept, word.time_s - WORD_ROOM_S, key=lambda other: other.time_s)
    near = kept[index : index + 3]
    return not any(crowded(other.time_s - word.time_s) for other in near)
