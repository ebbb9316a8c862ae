"""How often a clapped rhythm is written down right: ``python -m tests.simulate.transcribe_table``.

Rows: passages of eight beats at quarter = 90 in simple metres.  ``"tune"`` served to find mistakes;
some failures on ``"unseen"`` were read too, once, before the figures of a passage were taken to come
again; ``"held out"`` was only counted.  In the three sets every figure is as likely as the next, also
those that music hardly has; ``"drills"`` are two bars or four of the supplied drills, as music has
them.  Beside each row: of the bars called sure (0.9 and above, 0.95 where
the tempo was found), and of the doubtful, how many were right.
"""

import sys
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from itertools import islice

import numpy as np

from rhythmtrain.notate.rhythm.transcribe import Asked, transcribe
from rhythmtrain.score.passage import Passage, notes_of
from rhythmtrain.storage.drills import load_drill, shipped_drills
from tests.simulate.transcribe_trials import BEATS, Clapped, Clapper, clapped, from_places

ROWS: tuple[tuple[str, Clapper, bool], ...] = (
    ("20 ms, tempo said", Clapper(), True),
    ("20 ms, tempo found", Clapper(), False),
    ("30 ms, tempo said", Clapper(spread_s=0.03), True),
    ("20 ms, 6 % slower at the end", Clapper(drift=0.06), True),
    ("30 ms, three tries", Clapper(spread_s=0.03, tries=3), True),
)
SLOWEST, FASTEST = 54, 132
SETS = ("tune", "held out", "unseen", "drills")


@dataclass(frozen=True, slots=True)
class Row:
    """What came of some trials: passages right, and bars (right, all) that were sure and doubtful."""

    right: int
    trials: int
    sure: tuple[int, int]
    doubtful: tuple[int, int]


def trials(name: str, count: int, clapper: Clapper) -> Iterator[Clapped]:
    """Yield the trials of a set, at most ``count``."""
    if name == "drills":
        yield from list(_of_drills(clapper))[:: max(1, 73 // count)][:count]
    else:
        yield from (clapped(name, number, clapper) for number in range(count))


def row(name: str, count: int, clapper: Clapper, *, said: bool) -> Row:
    """Return what came of ``count`` trials of a set."""
    return tallied(trials(name, count, clapper), said=said)


def row_of_all_tempi(name: str, count: int) -> Row:
    """Return what came of ``count`` trials whose tempo was not said, each at another tempo."""
    rng = np.random.default_rng(41)
    tempi = np.exp(rng.uniform(np.log(SLOWEST), np.log(FASTEST), count))
    rows = (trials(name, count, Clapper(tempo=float(tempo))) for tempo in tempi)
    return tallied((next(islice(row, number, None)) for number, row in enumerate(rows)), said=False)


def tallied(chosen: Iterable[Clapped], *, said: bool) -> Row:
    """Return what came of some trials."""
    right, all_trials = 0, 0
    tally = {True: [0, 0], False: [0, 0]}
    for trial in chosen:
        onsets = [each for one in trial.tries for each in one]
        tempo = trial.tempo if said else None
        found = transcribe(onsets, Asked((trial.metre,), tempo, times=len(trial.tries)))
        got = {note.at for note in notes_of(found.passage.bars)}
        right += got == set(trial.places)
        all_trials += 1
        length = trial.metre.length
        for index, bar in enumerate(found.bars):
            inside = {
                each
                for each in got ^ set(trial.places)
                if index * length <= each < (index + 1) * length
            }
            tally[bar.doubtful][0] += not inside
            tally[bar.doubtful][1] += 1
    sure, doubtful = tally[False], tally[True]
    return Row(right, all_trials, (sure[0], sure[1]), (doubtful[0], doubtful[1]))


def _of_drills(clapper: Clapper) -> Iterator[Clapped]:
    for drill in shipped_drills():
        passage = load_drill(drill.name).passage
        if passage is None or len({bar.metre for bar in passage.bars}) > 1:
            continue
        for start, places in _phrases(passage):
            rng = np.random.default_rng((5, drill.level, start))
            quarter = replace(clapper, tempo=clapper.tempo * float(passage.metre.tempo_value))
            yield from_places(passage.metre, places, rng, quarter)


def _phrases(passage: Passage) -> Iterator[tuple[int, tuple[Fraction, ...]]]:
    """Yield phrases of about eight beats that begin with a note, as quarters."""
    size = max(BEATS // len(passage.metre.beats), 1)
    if passage.bars[0].begins:
        return
    for start in range(0, len(passage.bars) - size + 1, size):
        places = tuple(note.at for note in notes_of(passage.bars[start : start + size]))
        if len(places) > 3 and not places[0]:
            yield start, places


def main(count: int) -> None:
    """Print the table."""
    say = sys.stdout.write
    say("20 ms, tempo found, 54 to 132\n")
    for name in SETS:
        _say_row(name, row_of_all_tempi(name, min(count, 36)))
    for words, clapper, said in ROWS:
        say(f"{words}\n")
        for name in SETS:
            _say_row(name, row(name, count, clapper, said=said))


def _say_row(name: str, found: Row) -> None:
    sys.stdout.write(
        f"  {name:<9} {found.right:>3} of {found.trials:>3} = {found.right / found.trials:4.0%}"
        f"   sure bars right {found.sure[0]} of {found.sure[1]}"
        f", doubtful {found.doubtful[0]} of {found.doubtful[1]}\n"
    )
    sys.stdout.flush()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100)
