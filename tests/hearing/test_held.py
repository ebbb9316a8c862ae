"""How long blown notes sound: told only where an end is heard."""

import numpy as np
import pytest

from rhythmtrain.hearing.held import HeldNotes
from tests.simulate.held_notes import RATE, Line, line

SEEDS = range(100, 105)  # the thresholds were chosen on lower ones
ROOMS = ((0.0, -60.0), (0.3, -45.0), (0.6, -30.0), (1.0, -45.0))


def heard(sung: Line, *, block: int = 4000) -> tuple[float | None, ...]:
    """Return the lengths that are heard in a line, fed in blocks."""
    held = HeldNotes(RATE)
    for begin in range(0, len(sung.sound), block):
        held.feed(sung.sound[begin : begin + block])
    return held.lengths_s(sung.onsets_s)


@pytest.mark.parametrize(("echo_s", "noise_db"), ROOMS)
def test_a_stopped_note_is_measured_and_one_that_dies_away_is_left_alone(
    echo_s: float, noise_db: float
) -> None:
    """In rooms of several kinds; never is a note told to be plainly shorter than it was."""
    errors, told, stopped, false = [], 0, 0, 0
    for seed in SEEDS:
        sung = line(seed, notes=9, echo_s=echo_s, noise_db=noise_db)
        for length, was, ending in zip(heard(sung), sung.lengths_s, sung.endings, strict=True):
            stopped += ending == "stopped"
            if length is not None:
                false += length < was - 0.2 or ending == "dying"
                if ending == "stopped":
                    errors.append(length - was)
                    told += 1
    assert false <= 1
    assert told >= (0.9 if echo_s < 0.5 else 0.3) * stopped
    assert abs(float(np.median(errors))) <= 0.16
    assert float(np.percentile(np.abs(errors), 95)) <= (0.1 if echo_s < 0.5 else 0.3)


def test_any_blocks_give_the_same_lengths() -> None:
    """Reading a file in other pieces changes nothing."""
    sung = line(109, notes=4)
    assert heard(sung, block=97) == heard(sung, block=len(sung.sound)) == heard(sung, block=777)


def test_nothing_is_told_where_the_note_hardly_stands_out() -> None:
    """A noisy street, or a player far from the microphone."""
    assert set(heard(line(110, notes=6, noise_db=-18.0))) == {None}


def test_notes_of_which_nothing_was_recorded_have_no_length() -> None:
    """Nor have two that lie on each other."""
    held = HeldNotes(RATE)
    assert held.lengths_s((1.0, 2.0)) == (None, None)
    held.feed(np.zeros(RATE, np.float32))
    assert held.lengths_s((0.5, 0.51)) == (None, None)
