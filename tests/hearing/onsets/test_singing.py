"""A real voice: 33 s of solo singing whose notes two people marked (tests/data/README.md)."""

from pathlib import Path

import mir_eval
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray

from rhythmtrain.hearing.onsets.onsets import find_onsets

FOLDER = Path(__file__).parents[2] / "data" / "vocadito"


@pytest.fixture(scope="module")
def singing() -> tuple[NDArray[np.float64], int]:
    """Return the recording and its rate."""
    sound, rate = soundfile.read(FOLDER / "vocadito_1.flac")
    return sound, int(rate)


def marked(person: int) -> NDArray[np.float64]:
    """Return the note onsets that one person marked, in seconds."""
    table: NDArray[np.float64] = np.loadtxt(FOLDER / f"notesA{person}.csv", delimiter=",")
    return table[:, 0]


def agreement(truth: NDArray[np.float64], heard: NDArray[np.float64]) -> float:
    """Return the F-measure at 50 ms."""
    return float(mir_eval.onset.f_measure(truth, heard, window=0.05)[0])


@pytest.mark.parametrize(("person", "least"), [(1, 0.60), (2, 0.77)])
def test_sung_notes_are_heard_nearly_as_people_mark_them(
    singing: tuple[NDArray[np.float64], int], person: int, least: float
) -> None:
    """Two people agree to 0.86 with each other; legato singing is the hardest case there is."""
    heard = np.array([o.time_s for o in find_onsets(*singing, kind="voice")])
    assert agreement(marked(1), marked(2)) == pytest.approx(0.86, abs=0.01)
    assert agreement(marked(person), heard) >= least


@pytest.mark.long
def test_sung_notes_are_heard_better_than_superflux_does(
    singing: tuple[NDArray[np.float64], int],
) -> None:
    """Better than the usual detector with its offset removed, for either person."""
    from tests.simulate.onset_score import scored  # noqa: PLC0415
    from tests.simulate.superflux import superflux  # noqa: PLC0415

    ours = np.array([o.time_s for o in find_onsets(*singing, kind="voice")])
    theirs = superflux(*singing)
    for person in (1, 2):
        truth = marked(person)
        offset_s = scored([(truth, theirs)]).bias_s
        assert agreement(truth, ours) > agreement(truth, theirs - offset_s)
