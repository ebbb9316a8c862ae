"""Which tempo is in force where, as written.

A tempo counts the beats of its bar's metre.  Where the metre changes without a new tempo mark,
note values keep their length (quarter = quarter, common practice, no source), so what persists is
the number of *quarters* a minute.
"""

from fractions import Fraction

from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Passage
from rhythmtrain.units import Bpm


def quarters_a_minute(tempo: float, metre: Metre) -> float:
    """Return the quarters a minute that ``tempo`` beats a minute of ``metre`` come to."""
    return tempo * float(metre.tempo_value)


def beats_a_minute(quarters: float, metre: Metre) -> Bpm:
    """Return the beats a minute of ``metre`` that ``quarters`` quarters a minute come to."""
    return Bpm(quarters / float(metre.tempo_value))


def speeds(passage: Passage) -> tuple[tuple[float, float], ...]:
    """Return the quarters a minute at the beginning and the end of every written bar.

    They differ only where a tempo changes gradually; then the speed goes in a straight line over
    written time from the first bar of the change to the end of its last.
    """
    here = quarters_a_minute(passage.tempo, passage.metre)
    target, left = here, Fraction(0)
    found = []
    for index, bar in enumerate(passage.bars):
        if bar.tempo is not None:
            here = quarters_a_minute(bar.tempo.bpm, bar.metre)
            target, left = here, Fraction(0)
            if bar.tempo.to is not None:
                target = quarters_a_minute(bar.tempo.to, bar.metre)
                changing = passage.bars[index : index + bar.tempo.over_bars]
                left = sum((each.length for each in changing), Fraction(0))
        begun = here
        if left:
            here += (target - here) * float(bar.length / left)
            left -= bar.length
        found.append((begun, here))
    return tuple(found)


def tempo_at(passage: Passage, index: int) -> Bpm:
    """Return the tempo in force when bar ``index`` begins, in beats of that bar's metre."""
    return beats_a_minute(speeds(passage)[index][0], passage.bars[index].metre)
