"""The measures of a sheet: bars of rest in a row are one, and the cue stands where it leads in.

A cue is printed only in a bar where it plays before the player does: what sounds beside the player's own
notes is no help for coming in.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.score.counting import NUMBERS
from rhythmtrain.score.notation.notation import NotatedBar, notated
from rhythmtrain.score.passage import Passage


@dataclass(frozen=True, slots=True)
class SheetLook:
    """How a sheet is to look.

    ``five`` puts pitches on five lines where there are any, ``counting`` is the counting system,
    ``rests`` writes the count of long rests out, ``player`` names whoever plays the cue.
    """

    five: bool = False
    counting: str = NUMBERS
    rests: bool = False
    british: bool = False
    player: str = "piano"


@dataclass(frozen=True, slots=True)
class SheetMeasure:
    """One measure of the document: its bar, its cue, and how many bars of rest it stands for.

    ``nth`` counts the bars of a rest that is written out; ``times`` is that of its last bar.
    """

    index: int
    bar: NotatedBar
    cue: NotatedBar | None
    many: int = 1
    nth: int = 0
    times: int = 0


def sheet_measures(passage: Passage, look: SheetLook) -> Iterator[SheetMeasure]:
    """Yield the measures of a sheet in order."""
    bars = notated(passage.bars)
    cues = notated(passage.cue) if passage.cue else ()
    index = 0
    while index < len(bars):
        cue = cues[index] if cues and _cue_shows(cues[index], bars[index]) else None
        past = index + 1
        if not bars[index].signs and cue is None:
            while past < len(bars) and _goes_on(bars, cues, past):
                past += 1
        if look.rests and past - index > 1:
            for nth, bar in enumerate(bars[index:past], start=1):
                yield SheetMeasure(index + nth - 1, bar, None, nth=nth, times=bar.bar.times)
        else:
            times = bars[past - 1].bar.times
            yield SheetMeasure(index, bars[index], cue, past - index, times=times)
        index = past


def _cue_shows(cue: NotatedBar, bar: NotatedBar) -> bool:
    """Return whether the cue plays before the player does, in this bar."""
    until = first_note(bar)
    return any(sign.begins and sign.at < until for sign in cue.signs)


def first_note(bar: NotatedBar) -> Fraction:
    """Return where in the bar its first note stands, or the end of the bar."""
    return next((sign.at for sign in bar.signs if not sign.rest), bar.bar.ends)


def _goes_on(bars: tuple[NotatedBar, ...], cues: tuple[NotatedBar, ...], past: int) -> bool:
    """Return whether bar ``past`` is one more bar of the same rest."""
    bar, before = bars[past].bar, bars[past - 1].bar
    marked = bar.opens or bar.ending or bar.tempo or bar.pause or bar.landmarks or before.times
    cued = bool(cues) and _cue_shows(cues[past], bars[past])
    whole = bar.length == bar.metre.length == before.length
    return not (bars[past].signs or marked or cued) and bar.metre == before.metre and whole
