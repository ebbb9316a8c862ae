"""Takes and drills in a folder of their own."""

from collections.abc import Callable, Sequence
from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.timing.timeline import Practice, lay_out

RAG = '''title = "Kitchen Rag"
about = "Off-beats, a tie over the beat, and an entry after four bars."
metre = "2/4"
tempo = 72
rhythm = """
1 e [&] a 2 & | (1) & a 2 | 1 & [2] & | 1 (2) | "letter B" rest 4 | (1) (&) 2 & |
"a word nobody recorded" 1 2 | 1 (2)
"""
'''
START_S = 2.0

Written = Callable[[Sequence[float]], Path]


@pytest.fixture
def rag(tmp_path: Path) -> Path:
    """Return the drill file of an invented rag."""
    path = tmp_path / "rag.toml"
    path.write_text(RAG, encoding="utf-8")
    return path


@pytest.fixture
def times_s(rag: Path) -> list[float]:
    """Return when a careful player plays the rag twice, bar 1 at 2 s: seconds of the take."""
    passage = find_passage(str(rag))
    timeline = lay_out(passage, Practice(repeats=2))
    spread = np.random.default_rng(7).normal(0, 0.008, len(timeline.notes))
    aims = [START_S + timeline.seconds(note.at) for note in timeline.notes]
    return [float(aim + off) for aim, off in zip(aims, spread, strict=True)]


@pytest.fixture
def written(tmp_path: Path) -> Written:
    """Return a function that writes times as a text take."""

    def write(times: Sequence[float]) -> Path:
        path = tmp_path / "take.txt"
        path.write_text("".join(f"{time:.4f}\n" for time in sorted(times)), encoding="utf-8")
        return path

    return write
