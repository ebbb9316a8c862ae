"""Where each mapped beat of a recording lies in written quarters along it.

The passage's own bars tell their metre; bars around them are taken to be like the bar beside, as
long as their beats fit.  Beats of the map whose metre is not known (bars far from the passage,
counted otherwise) are left out.
"""

from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import pairwise

from rhythmtrain.errors import RequestError
from rhythmtrain.remedies import remedy
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Passage
from rhythmtrain.timing.beatmap import FEWEST_BEATS, BeatMap
from rhythmtrain.timing.recorded_order import Rows


@dataclass(frozen=True, slots=True)
class RecordedBar:
    """One bar of the recording: where its beat 1 lies (or would lie), its metre, where it ends.

    ``ends`` counts from beat 1, as in a written bar.
    """

    nominal: Fraction
    metre: Metre
    ends: Fraction

    @property
    def beats(self) -> int:
        """Return how many beats it has."""
        return sum(beat.start < self.ends for beat in self.metre.beats)


def placed_beats(
    score: Passage, rows: Rows, beat_map: BeatMap
) -> tuple[BeatMap, tuple[Fraction, ...]]:
    """Return the beats of known metre, and the place of each: quarters from the first of ``rows``.

    Raises:
        RequestError: hardly any beat lies in the bars of ``score``, or a bar has others than there.
    """
    asked = _bars_of(score, rows)
    known = _with_neighbours(beat_map, asked)
    beats, quarters = [], []
    for beat, following in pairwise((*beat_map.beats, None)):
        bar = known.get(beat.bar) if beat is not None else None
        if beat is None or bar is None:
            continue
        cut = following is not None and following.bar != beat.bar and beat.beat != bar.beats
        if beat.beat > bar.beats or cut:
            raise RequestError(
                f"bar {beat.bar} of the beat map has other beats than the passage, where it is in "
                f"{bar.metre} with {bar.beats}: is it the map of this piece, counted like this?"
            )
        beats.append(beat)
        quarters.append(bar.nominal + bar.metre.beats[beat.beat - 1].start)
    if len(beats) < FEWEST_BEATS:
        raise RequestError(
            f"the beat map covers bars {beat_map.bars[0]} to {beat_map.bars[1]}, not the bars "
            f"{min(asked)} to {max(asked)} of the passage: map those bars too {remedy('map')}"
        )
    return BeatMap(tuple(beats)), tuple(quarters)


def _bars_of(score: Passage, rows: Rows) -> dict[int, RecordedBar]:
    """Return the bars of the recording by their number in the map."""
    found: dict[int, RecordedBar] = {}
    at = Fraction(0)
    for index, number in rows:
        bar = score.bars[index]
        found[number] = RecordedBar(at - bar.begins, bar.metre, bar.ends)
        at += bar.length
    last = max(found)
    # What the recording plays after a last bar that ends early is not the passage's to judge.
    found[last] = replace(found[last], ends=found[last].metre.length)
    return found


def _with_neighbours(beat_map: BeatMap, asked: dict[int, RecordedBar]) -> dict[int, RecordedBar]:
    """Return ``asked`` with the bars around them, as far as their beats fit the metre beside."""
    last_beats = {beat.bar: beat.beat for beat in beat_map.beats}
    known = dict(asked)
    for number in range(min(asked) - 1, beat_map.bars[0] - 1, -1):
        metre = known[number + 1].metre
        if last_beats.get(number) != len(metre.beats):
            break
        nominal = known[number + 1].nominal - metre.length
        known[number] = RecordedBar(nominal, metre, metre.length)
    for number in range(max(asked) + 1, beat_map.bars[1] + 1):
        before = known[number - 1]
        if not 1 <= last_beats.get(number, 0) <= len(before.metre.beats):
            break
        known[number] = RecordedBar(before.nominal + before.ends, before.metre, before.metre.length)
    return known
