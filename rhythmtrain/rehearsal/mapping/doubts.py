"""What is asked of a person whose bars and recording do not seem to go together.

A repeat that is played though it is not counted, bars that are left out, a bar number that is wrong:
none of these is stretched over in silence.  With the accompanist's notes an order that is not theirs
is looked for first (``notate.notes.played_order``); what was missed there shows in the map: bars that last
many times as long as those around them, or almost no time, or music before the first note.
"""

from collections.abc import Sequence
from itertools import pairwise
from math import log

from rhythmtrain.notate.beats.bar_counts import Miscount
from rhythmtrain.notate.notes.written_part import WrittenBeat
from rhythmtrain.rehearsal.recorded.marks import Asked, MapWish
from rhythmtrain.remedies import option, remedy
from rhythmtrain.report.maps.text import clock
from rhythmtrain.report.words import several
from rhythmtrain.timing.beatmap import MappedBeat

FEWEST_FOR_PACE = 3
# Of 48 simulated performances (development seeds 200 to 223, both manners) with four sets of marks
# each, none had a stretch of two bars or more so far from the others; single bars may be (a ritard).
UNLIKE, FEWEST_BARS = 1.5, 2
# With notes: of 12 development performances played straight (seeds 600 to 605) no bar lasted more than
# 1.7 times as long, or as short, as the middle one of those around it.
UNLIKE_BAR, AROUND, FEWEST_PACES, OUTSIDE_BARS = 2.2, 6, 8, 4


def pace_doubts(asked: Asked) -> tuple[str, ...]:
    """Return a sentence for each stretch between marks whose beats cannot be as long as elsewhere.

    A repeat played, a cut, or a bar number that is wrong makes the beats of one stretch last half
    as long again as those around, which is said instead of being stretched over.
    """
    marks = sorted((*asked.anchors, *asked.taps))
    if len(marks) < FEWEST_FOR_PACE:
        return ()
    paces = [(late - early) / (b - a) for (a, early), (b, late) in pairwise(marks) if b > a]
    usual = sorted(paces)[len(paces) // 2]
    doubts = []
    for (a, early), (b, late) in pairwise(marks):
        beats = b - a
        if beats < FEWEST_BARS * asked.beats_a_bar or usual <= 0:
            continue
        pace = (late - early) / beats
        if not 1 / UNLIKE < pace / usual < UNLIKE:
            first, last = (asked.first_bar + each // asked.beats_a_bar for each in (a, b))
            fitting = round((late - early) / usual / asked.beats_a_bar)
            doubts.append(
                f"Between bar {first} and bar {last} a beat would last {pace:.2f} s, elsewhere "
                f"{usual:.2f} s, at which about {several(fitting, 'bar')} fit there: is a repeat "
                "played, are bars left out, or is a bar number wrong? Count bars as they are played: "
                f"the mark at {clock(late)} would be in bar {first + fitting}."
            )
    return tuple(doubts)


def lone_mark_doubts(wish: MapWish, asked: Asked) -> tuple[str, ...]:
    """Return what to add where a single mark and nothing else says which bars are to be mapped."""
    if len(asked.anchors) + len(asked.taps) > 1 or wish.bars or wish.bars_count:
        return ()
    only = f"Nothing says how many bars there are, so only bar {asked.first_bar} was mapped"
    return (f"{only}: add {option('bars-count')}, or mark a later bar too.",)


def count_doubts(
    wish: MapWish, asked: Asked, found: Sequence[Miscount], beats: Sequence[MappedBeat]
) -> tuple[str, ...]:
    """Return a question for each stretch whose music seems to hold another number of bars."""
    return tuple(_question(wish, asked, each, beats) for each in found)


def _question(wish: MapWish, asked: Asked, found: Miscount, beats: Sequence[MappedBeat]) -> str:
    first, last = (
        asked.first_bar + each // asked.beats_a_bar for each in (found.first, found.last)
    )
    begin_s, end_s = (beats[each].time_s for each in (found.first, found.last))
    away = found.heard - found.said
    what = (
        f"is a repeat of about {several(away, 'bar')} played, or does it get slower"
        if away > 0
        else f"are about {several(-away, 'bar')} left out, or does it get faster"
    )
    saying = remedy("by-value", "at", f"{last + away}={end_s:.2f}")
    if wish.end is not None and found.last == asked.anchors[-1][0]:
        final = last + away
        bars = ("bars", f"{asked.first_bar}-{final}") if wish.bars else ("bars-count", final)
        saying = remedy("by-value", *bars)
    return (
        f"From bar {first} to bar {last} ({clock(begin_s)} to {clock(end_s)}) the music sounds more "
        f"like {several(found.heard, 'bar')} than {found.said}: {what}? If bars differ, count them as they "
        f"are played, so that {clock(end_s)} is in bar {last + away} or wherever you hear it{saying}; "
        f"if not, {remedy('mark-between', (first + last) // 2)}."
    )


def doubted_bars(asked: Asked, found: Sequence[Miscount]) -> tuple[int, ...]:
    """Return the bars in the middle of such stretches, where a wrong count is heard best."""
    middles = ((each.first + each.last) // 2 for each in found)
    return tuple(asked.first_bar + beat // asked.beats_a_bar for beat in middles)


def notes_doubts(
    pairs: Sequence[tuple[WrittenBeat, float]], music_s: tuple[float, float]
) -> tuple[str, ...]:
    """Return a question on bars of the notes that cannot last as long as they would have to.

    ``pairs`` are beats and their seconds; ``music_s`` is when the music begins and ends.
    """
    starts = [pair for pair in pairs if pair[0].beat == 1]
    paces = [
        (late - early) / float(after.at - before.at)
        for (before, early), (after, late) in pairwise(starts)
    ]
    if len(paces) < FEWEST_PACES:
        return ()
    said = []
    for (beat, second), pace, usual in zip(starts, paces, _around(paces), strict=False):
        if not usual / UNLIKE_BAR <= pace <= usual * UNLIKE_BAR:
            said.append((beat.bar, second, pace / usual))
    usual = sorted(paces)[len(paces) // 2]
    bar_s = usual * float(starts[1][0].at - starts[0][0].at)
    return (*_bars_out(said), *_music_out(pairs, music_s, bar_s))


def _around(paces: Sequence[float]) -> list[float]:
    """Return for each bar the middle one of the paces around it."""
    near = (paces[max(0, n - AROUND) : n + AROUND + 1] for n in range(len(paces)))
    return [sorted(each)[len(each) // 2] for each in near]


def _bars_out(said: Sequence[tuple[int, float, float]]) -> tuple[str, ...]:
    if not said:
        return ()
    bar, second, share = max(said, key=lambda each: abs(log(max(each[2], 0.01))))
    how = f"last {share:.1f} times as long as" if share > 1 else "go by much faster than"
    what = "are bars repeated there" if share > 1 else "are bars left out there"
    question = (
        f"Around bar {bar} ({clock(second)}) the notes {how} those before and after: {what}? If so, "
        f"say which bars are played {remedy('order', '1-8,1-16')}; if they are only held, "
        "hear that place with clicks."
    )
    return (question,)


def _music_out(
    pairs: Sequence[tuple[WrittenBeat, float]], music_s: tuple[float, float], bar_s: float
) -> tuple[str, ...]:
    before, after = pairs[0][1] - music_s[0], music_s[1] - pairs[-1][1]
    said = []
    for side, many in (("before the first note", before), ("after the last", after)):
        if many > OUTSIDE_BARS * bar_s:
            said.append(
                f"There are {many:.0f} s of music {side}, enough for {int(many / bar_s)} bars: are "
                "bars played that the notes have once or not at all? If bars are repeated, say which "
                f"{remedy('order', '1-8,1-16')}."
            )
    return tuple(said)
