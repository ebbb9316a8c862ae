"""How often repeats and cuts that nobody said are noticed: ``python -m tests.simulate.orders_table``.

After it one may write how many pieces, the first seed, and ``notes`` or ``marks`` for these alone.
Performances that nothing was chosen on (held-out seeds, the second instrument), 24 bars, played as
written or in another order.  By the accompanist's notes: how many orders are found to the bar, how
many of the others are asked about.  By two bars tapped and the last one marked, numbered by the
score: how many are asked about, and how many of the questions are right about the number of bars
to one bar.  Of those played straight every question is a false alarm.
"""

import sys
from collections import Counter
from fractions import Fraction

import numpy as np

from rhythmtrain.errors import TakeError
from rhythmtrain.hearing.recording.active_span import active_span
from rhythmtrain.notate.beats.bar_counts import miscounts
from rhythmtrain.notate.notes.aligned_beats import aligned_beats
from rhythmtrain.notate.notes.alignment import align_notes
from rhythmtrain.notate.notes.played_order import order_played
from rhythmtrain.notate.notes.written_part import WrittenBeat
from rhythmtrain.rehearsal.mapping.doubts import notes_doubts
from tests.simulate.mapping_trials import heard, notes_of, sounding_of
from tests.simulate.orders import BARS, ORDERS, told_by_marks
from tests.simulate.performances import HELD_OUT, perform, perform_in_order

PIECES = 10
FIRST = HELD_OUT + 500


def by_notes(seed: int, name: str, *, expressive: bool) -> str:
    """Return what the notes say: "found", "wrong order", "asked", "refused" or "nothing"."""
    order = ORDERS[name]
    written = perform(seed, expressive=expressive, bars=BARS)
    played = perform_in_order(seed, order, expressive=expressive, bars=BARS)
    spectra = heard(played.sound, played.rate)
    sounding, notes, beats = sounding_of(spectra), notes_of(written.piece), written.piece.beats
    runs = order_played(sounding, notes, np.arange(BARS, dtype=np.float64) * beats)
    if runs is not None:
        return "found" if runs == order else "wrong order"
    try:
        aligned = align_notes(sounding, notes)
    except TakeError:
        return "refused"
    last = int(aligned.quarters[-1])
    solved = aligned_beats(aligned, np.arange(last + 1.0))
    places = [
        (WrittenBeat(Fraction(at), 1 + at // beats, 1 + at % beats), each.time_s)
        for at, each in enumerate(solved)
    ]
    asked = notes_doubts(places, active_span(spectra))
    return "asked" if asked else "nothing"


def by_marks(seed: int, name: str, *, expressive: bool) -> str:
    """Return what the marks say: "asked, right", "asked" or "nothing"."""
    told = told_by_marks(seed, name, expressive=expressive)
    found = miscounts(told.curves, told.marks, told.beats_a_bar)
    if not found:
        return "nothing"
    more = sum(each.heard - each.said for each in found)
    return "asked, right" if abs(more - told.bars_more) <= 1 and told.bars_more else "asked"


def main(pieces: int = PIECES, first: int = FIRST, wanted: str = "") -> None:
    """Print the table for ``pieces`` performances of either manner, from seed ``first``."""
    for way, told in (("by notes", by_notes), ("by marks", by_marks)):
        if wanted not in way:
            continue
        for manner, expressive in (("steady", False), ("expressive", True)):
            for name in ORDERS:
                counts = Counter(
                    told(seed, name, expressive=expressive) for seed in range(first, first + pieces)
                )
                row = ", ".join(f"{count} {what}" for what, count in counts.most_common())
                print(f"{way}  {manner:11}{name:26}{row}", flush=True)  # noqa: T201


if __name__ == "__main__":
    pieces, first, wanted = (*sys.argv[1:], *("", "", "")[len(sys.argv) - 1 :])
    main(int(pieces or PIECES), int(first or FIRST), wanted)
