"""One entry tried by itself: beside the click, because a single phrase shows no habit.

In a take the player's habit is taken out before anything is called late.  A try of one entry is
too short for that: half of what it shows would be called habit.  So the distance from the beat
itself counts, and whatever honest players' single taps do beside a click is in time: 95 of 100 lie
within 80 ms (measured on the open data of Bååth and Madison 2012, see ``offsets``), 99 of 100
within 105 ms if they are spread as a bell.  How well the sound delay is known is added.
"""

from dataclasses import dataclass

from rhythmtrain.assess.findings import EntryFinding, Verdict
from rhythmtrain.assess.offsets import habit_known_to_s

TO_99 = 2.58 / 1.96
LITTLE = (Verdict.IN_TIME, Verdict.EARLY, Verdict.LATE)


@dataclass(frozen=True, slots=True)
class CameIn:
    """How one entry came: its class, whether it was in time, whether only a little late."""

    verdict: str
    good: bool
    late: bool = False


def lone_entry(
    finding: EntryFinding,
    *,
    uncertainty_s: float = 0.0,
    delay_error_s: float = 0.0,
    least_s: float = 0.0,
) -> CameIn:
    """Return how the entry came in, seen from the beat where it is written.

    ``uncertainty_s`` is the standard error of an onset, ``delay_error_s`` by how much the sound
    delay may be wrong; what lies within ``least_s`` is in time however well all is known.
    """
    if finding.offset_s is None or finding.verdict not in LITTLE:
        return CameIn(finding.verdict, good=False)
    bound_s = max(TO_99 * habit_known_to_s(1, uncertainty_s), least_s) + delay_error_s
    if abs(finding.offset_s) <= bound_s:
        return CameIn(str(Verdict.IN_TIME), good=True)
    late = finding.offset_s > 0
    return CameIn(str(Verdict.LATE if late else Verdict.EARLY), good=False, late=late)
