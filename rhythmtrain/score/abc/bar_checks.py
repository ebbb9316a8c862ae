"""Bars that are shorter or longer than their metre says.

A tune's first and last bar, and those beside a repeat, a double bar or an ending, may be short: the other part
of an upbeat stands elsewhere.  So may two bars that together make a whole one.  Any other bar that is not as
long as its metre is likely to be a slip of the writer's, and whatever is the case, the player should know.
"""

from collections.abc import Sequence

from rhythmtrain.score.abc.doubts import Doubts
from rhythmtrain.score.abc.gathered import Gathered
from rhythmtrain.score.musicxml.bars import SharedBar, in_quarters
from rhythmtrain.score.musicxml.measure import Measure


def check_bars(voices: Sequence[Gathered], shared: Sequence[SharedBar], doubts: Doubts) -> None:
    """Tell of each bar that is not as long as its metre, once; parts that disagree are told elsewhere."""
    told: set[int] = set()
    for voice in voices:
        for at, (bar, line, common) in enumerate(
            zip(voice.bars, voice.lines, shared, strict=False)
        ):
            if at in told or not bar.filled or bar.filled != common.length or not _wrong(voice, at):
                continue
            told.add(at)
            metre = bar.metres[-1][1]
            wanted = in_quarters(bar.nominal or bar.filled)
            doubts.add(
                f"this bar has {in_quarters(bar.filled)} where {metre} has {wanted}: is a length or a "
                f"bar line missing?",
                bar,
                line,
            )


def _wrong(voice: Gathered, at: int) -> bool:
    """Return whether a bar's length cannot be meant."""
    bar = voice.bars[at]
    if bar.nominal is None or bar.filled == bar.nominal:
        return False
    if bar.filled > bar.nominal:
        return True
    if at in voice.edges:
        return False
    beside = (*voice.bars[at - 1 : at], *voice.bars[at + 1 : at + 2])
    return not any(_together(bar, other) for other in beside)


def _together(bar: Measure, other: Measure) -> bool:
    return bar.filled + other.filled == bar.nominal
