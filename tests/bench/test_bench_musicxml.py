"""How fast MusicXML is read, against music21 on the same scores in one run.

``pytest -m bench tests/bench/test_bench_musicxml.py`` compares them.  music21's parsed copies on disk are
not used: each file is parsed afresh by both.
"""

import time
import warnings
from collections.abc import Callable
from functools import partial
from pathlib import Path

import pytest

from rhythmtrain.score.musicxml.document import read_score
from tests.simulate.score_corpus import corpus

pytestmark = pytest.mark.bench
SCORES = 12
FASTER = 4.0


def spent(work: Callable[[], object]) -> float:
    """Return the seconds that ``work`` takes, the better of two."""
    needed = []
    for _ in range(2):
        begun = time.perf_counter()
        work()
        needed.append(time.perf_counter() - begun)
    return min(needed)


def ours(paths: list[Path]) -> None:
    """Read every score."""
    for path in paths:
        read_score(path.read_bytes(), name=path.name)


def theirs(paths: list[Path]) -> None:
    """Parse every score with music21."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        import music21  # noqa: PLC0415  (slow to import, and only needed here)

        for path in paths:
            music21.converter.parse(path, forceSource=True, format="musicxml")


def test_scores_are_read_four_times_as_fast_as_by_music21(
    record_property: Callable[[str, object], None],
) -> None:
    """A student does not wait for a page to appear."""
    folder, names = corpus()
    some = [folder / name for name in names[:: len(names) // SCORES]]
    theirs(some[:1])
    mine, other = spent(partial(ours, some)), spent(partial(theirs, some))
    told = f"{len(some)} scores: {mine:.2f} s, music21 {other:.2f} s, {other / mine:.1f} times"
    assert other >= FASTER * mine, told
    record_property("told", told)
