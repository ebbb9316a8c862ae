"""Sound that was lost while a take was played: what the device says of it, and what is said of it.

A device says in which turns it lost sound, not how much, nor whether what is heard afterwards is
earlier or later: that is found in the track itself (``hearing.gaps.finding``).  A person is told the
bars, because what lies there is not checked.
"""

from collections.abc import Sequence
from dataclasses import dataclass

from rhythmtrain.hearing.gaps.finding import Hint
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.tapped import XRUN_ERROR_S
from rhythmtrain.timing.timeline import Role, Timeline

SAID = (
    "Sound was lost {where} while you played: what you clapped there is not checked, the rest "
    "stands in its place."
)
UNPLACED = (
    "Sound was lost {where} while you played: what you clapped there is not checked, and what came "
    "after it is known less finely, because the microphone did not hear the track."
)
COUNTED = "in a counted bar"


@dataclass(frozen=True, slots=True)
class LostSound:
    """Between ``first_s`` and ``last_s`` of the track nothing is known of what was played.

    What came after it is known to ``error_s`` less finely.
    """

    first_s: float
    last_s: float
    error_s: float = 0.0


def hints_of(gathered: Gathered) -> tuple[Hint, ...]:
    """Return where the devices say that sound was lost, in frames of what was recorded.

    What they lose is a turn of sound at a time.
    """
    turns = sorted({(each.first, each.end) for each in gathered.xruns})
    return tuple(
        Hint(first, end, max(XRUN_ERROR_S, (end - first) / gathered.rate)) for first, end in turns
    )


def lost_in_words(lost: Sequence[LostSound], timeline: Timeline) -> tuple[str, ...]:
    """Return one sentence on where in ``timeline`` sound was ``lost``.

    Nothing where none was, or only after the last bar.
    """
    numbers = [
        played.bar.number if played.role not in (Role.COUNT_IN, Role.BETWEEN) else None
        for played in timeline.bars
        if any(
            timeline.track_seconds(played.start) < each.last_s
            and each.first_s < timeline.track_seconds(played.stop)
            for each in lost
        )
    ]
    if not numbers:
        return ()
    bars = list(dict.fromkeys(str(each) for each in numbers if each is not None))
    where = [_row("in bar" if len(bars) == 1 else "in bars", bars)] if bars else []
    where += [COUNTED] if None in numbers else []
    unplaced = any(each.error_s for each in lost)
    return ((UNPLACED if unplaced else SAID).format(where=" and ".join(where)),)


def _row(word: str, bars: Sequence[str]) -> str:
    """Return "in bars 2, 3 and 7"."""
    *before, last = bars
    return f"{word} {', '.join(before)} and {last}" if before else f"{word} {last}"
