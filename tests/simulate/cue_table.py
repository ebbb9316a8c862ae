"""How surely a cue that comes twice is heard: ``python -m tests.simulate.cue_table [pieces] [seed]``.

In simulated piano performances every bar from the ninth on is taken for an entry after six bars of
rest.  Where its cue comes too is asked of the written notes and of the strokes in the recording, and the
two answers are compared; a wrong place whose bar differs from the cue by one note is counted apart.
"""

import sys
from collections import Counter
from dataclasses import replace
from fractions import Fraction

import numpy as np

from rhythmtrain.assess.wrong_cue import same_cues, searched
from rhythmtrain.hearing.recording.spectra import Spectra, SpectraFinder
from rhythmtrain.hearing.recording.struck import struck_at
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar
from rhythmtrain.timing.timeline import Timeline, lay_out
from tests.simulate.passages import bar, passage
from tests.simulate.performances import HELD_OUT, Performed, perform

BARS, REST, FIRST = 20, 6, 8
SEED = 300
Strokes = tuple[tuple[Fraction, float], ...]


def before(entry_bar: int, beats: int) -> Timeline:
    """Return a passage with its entry after six bars of rest, in the bar at index ``entry_bar``."""
    metre = Metre.parse(f"{beats}/4")
    bars = [_bar(number, entry_bar, metre) for number in range(BARS)]
    timeline = lay_out(passage(*bars))
    entries = [each for each in timeline.entries if timeline.notes[each.note].place == entry_bar]
    return replace(timeline, entries=tuple(entries))


def _bar(number: int, entry_bar: int, metre: Metre) -> Bar:
    played = () if entry_bar - REST <= number < entry_bar else (0, 1)
    return bar(number + 1, *played, metre=metre)


def places(timeline: Timeline, strokes: Strokes) -> set[float]:
    """Return where the entry's cue comes too, in beats from the entry."""
    found = same_cues(replace(timeline, strokes=strokes))
    return {cue.beats for cues in found.values() for cue in cues}


def counted(seed: int) -> Counter[str]:
    """Return how many places are there, are found, and are found wrongly in one piece."""
    played = perform(seed, expressive=True, bars=BARS)
    finder = SpectraFinder(played.rate)
    finder.feed(played.sound)
    spectra = finder.finish()
    total: Counter[str] = Counter()
    for entry_bar in range(FIRST, BARS - 4):
        timeline = before(entry_bar, played.piece.beats)
        low, high = searched(timeline, timeline.entries[0])
        written = _written(played, low, high)
        there = places(timeline, written)
        found = places(timeline, _heard(played, spectra, low, high))
        total += Counter(
            entries=1, there=len(there), found=len(found & there), wrong=len(found - there)
        )
        near = [_differ(timeline, written, beats) for beats in found - there]
        total += Counter(differ=sum(each > 0 for each in near), plainly=sum(e > 1 for e in near))
    return total


def _parts(played: Performed) -> int:
    thirds = np.isclose(played.piece.onset % 1, 1 / 3)
    return 6 if thirds.any() else 4


def _written(played: Performed, low: Fraction, high: Fraction) -> Strokes:
    parts = _parts(played)
    at = {Fraction(round(parts * onset), parts) for onset in played.piece.onset.tolist()}
    return tuple((place, 1.0) for place in sorted(at) if low <= place < high)


def _heard(played: Performed, spectra: Spectra, low: Fraction, high: Fraction) -> Strokes:
    parts, beats = _parts(played), len(played.beats_s)
    asked = [Fraction(number, parts) for number in range(parts * (beats - 1))]
    asked = [place for place in asked if low <= place < high]
    seconds = np.interp([float(place) for place in asked], np.arange(beats), played.beats_s)
    return tuple(zip(asked, struck_at(spectra, seconds).chances, strict=True))


def _differ(timeline: Timeline, written: Strokes, beats: float) -> int:
    """Return by how many notes the bar before a place differs from the bar before the entry."""
    entry = timeline.notes[timeline.entries[0].note].at
    span = timeline.bars[0].bar.metre.length
    one, other = (
        {at - end for at, _ in written if end - span <= at < end}
        for end in (entry, entry + Fraction(beats))
    )
    return len(one ^ other)


def main(pieces: int, seed: int) -> None:
    """Print the sums over ``pieces`` held-out performances."""
    total: Counter[str] = Counter()
    for number in range(pieces):
        total += counted(HELD_OUT + seed + number)
    print(  # noqa: T201
        f"{total['entries']} entries: the cue comes too in {total['there']} places, "
        f"{total['found']} found; {total['wrong']} others named, of which {total['differ']} differ, "
        f"{total['plainly']} by more than one note"
    )


if __name__ == "__main__":
    numbers = [int(word) for word in sys.argv[1:]]
    main(*(numbers + [24, SEED][len(numbers) :]))
