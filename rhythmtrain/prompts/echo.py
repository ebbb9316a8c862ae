"""Whose turn it is in echo practice: "answer" and "listen", on the last beat before the turn."""

from collections.abc import Iterator

from rhythmtrain.prompts.audible import Audible
from rhythmtrain.prompts.spots import beats_of
from rhythmtrain.prompts.words import Rank, Word, word_at
from rhythmtrain.timing.timeline import Role, Timeline

TURNS = {Role.ANSWER: "answer", Role.LISTEN: "listen"}


def turns(timeline: Timeline, audible: tuple[Audible, ...]) -> Iterator[Word]:
    """Yield the word that hands over each turn, where the count is heard before it.

    It stands in the bars of the turn before; counted bars in between are counted whole.
    """
    before: int | None = None
    for place, played in enumerate(timeline.bars):
        if played.role not in TURNS:
            continue
        changed = before is not None and timeline.bars[before].role is not played.role
        if before is not None and changed and audible[before].say is not None:
            beats = beats_of(before, timeline.bars[before])
            if beats:
                yield word_at(timeline, beats[-1], TURNS[played.role], Rank.SIGN)
        before = place
