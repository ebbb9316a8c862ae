"""Repeats of a score as the signs of a passage, where these say the same.

A passage has ``|:``, ``:|``, a first and a second time.  The signs are set and then played through: only
when that gives the order in which the score is played are they kept.
"""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise

from rhythmtrain.errors import DrillError
from rhythmtrain.score.musicxml.lines import Line
from rhythmtrain.score.musicxml.order import BarSigns
from rhythmtrain.score.passage import Bar
from rhythmtrain.score.repeats import as_played

FIRST_TIME, SECOND_TIME = 1, 2


def with_repeat_signs(
    bars: tuple[Bar, ...], lines: Sequence[Line], signs: Sequence[BarSigns], order: Sequence[int]
) -> tuple[Bar, ...] | None:
    """Return ``bars`` with the repeat signs that play them in ``order``, or None where none do."""
    closing = _closing(signs)
    opening = _opening(signs, closing)
    firsts = {line.bar: at for at, line in reversed(list(enumerate(lines)))}
    lasts = {line.bar: at for at, line in enumerate(lines)}
    signed = list(bars)
    for at, sign in enumerate(signs):
        before = signs[at - 1].endings if at else ()
        number = _ending(sign.endings) if sign.endings != before else 0
        first, last = firsts[at], lasts[at]
        signed[first] = replace(signed[first], opens=at in opening, ending=number)
        signed[last] = replace(signed[last], times=closing.get(at, 0))
    found = tuple(signed)
    try:
        played = [lines[piece].bar for piece in as_played(found)]
    except DrillError:
        return None
    return found if _without_pieces(played, lines) == list(order) else None


def _ending(times: Sequence[int]) -> int:
    """Return 1 for what is played every time but the last, 2 for what is played then, 0 for no ending."""
    return min(times[0], SECOND_TIME) if times else 0


def _closing(signs: Sequence[BarSigns]) -> dict[int, int]:
    """Return how often each repeat is played, by the bar that closes it; not the last ending's."""
    return {
        at: sign.times or max(sign.endings, default=FIRST_TIME) + 1
        for at, sign in enumerate(signs)
        if sign.closes and _ending(sign.endings) != SECOND_TIME
    }


def _opening(signs: Sequence[BarSigns], closing: dict[int, int]) -> set[int]:
    """Return the bars at which a repeat opens that is closed before the next one opens."""
    opens = [at for at, sign in enumerate(signs) if sign.opens]
    return {
        at
        for at, following in pairwise([*opens, len(signs)])
        if any(at <= close < following for close in closing)
    }


def _without_pieces(played: Sequence[int], lines: Sequence[Line]) -> list[int]:
    """Return the bars of a row of pieces, each as often as it is played whole."""
    pieces: dict[int, int] = {}
    for line in lines:
        pieces[line.bar] = pieces.get(line.bar, 0) + 1
    found: list[int] = []
    at = 0
    while at < len(played):
        found.append(played[at])
        at += pieces[played[at]]
    return found
