"""The accompanist's notes laid on a recording, whatever stands at its ends."""

import numpy as np
import pytest

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.notate.notes.aligned_beats import aligned_beats
from rhythmtrain.notate.notes.alignment import align_notes
from rhythmtrain.notate.notes.written_chroma import WrittenNotes, averaged, centred, written_levels
from tests.simulate.mapping_trials import (
    heard,
    joined,
    notes_known,
    notes_of,
    outcome,
    sounding_of,
)
from tests.simulate.performances import HELD_OUT, perform

SEEDS = (HELD_OUT + 200, HELD_OUT + 201, HELD_OUT + 202)
ENDS = {"before_s": 6.0, "applause_s": 14.0, "noise_db": -45.0}


def test_known_notes_place_every_beat_also_between_noise_and_applause() -> None:
    """Nobody has to cut the recording first; expressive playing, a piano never tuned on."""
    plain = joined(
        [outcome(*notes_known(perform(seed, expressive=True, bars=24))) for seed in SEEDS]
    )
    ends = joined(
        [outcome(*notes_known(perform(seed, expressive=True, bars=24, **ENDS))) for seed in SEEDS]
    )
    for done in (plain, ends):
        assert done.median_ms <= 11
        assert done.p95_ms <= 100
        assert done.right >= 0.93
    assert ends.right >= plain.right - 0.02


@pytest.mark.parametrize(("seed", "up"), [(SEEDS[0], 0), (SEEDS[1], 0), (SEEDS[2], 1)])
def test_notes_of_another_piece_do_not_fit(seed: int, up: int) -> None:
    """A wrong file is said at once instead of mapped."""
    played = perform(seed, expressive=False, bars=20)
    other = perform(seed + 50, expressive=False, bars=20).piece
    notes = WrittenNotes(other.onset, other.pitch + up, other.length)
    with pytest.raises(TakeError, match="these notes do not fit this recording"):
        align_notes(sounding_of(heard(played.sound, played.rate)), notes)


def test_a_recording_of_seconds_is_refused() -> None:
    """Too short to recognise anything in."""
    played = perform(SEEDS[0], expressive=False, bars=8)
    with pytest.raises(TakeError, match="shorter than 4 s"):
        align_notes(
            sounding_of(heard(played.sound[: 3 * played.rate], played.rate)),
            notes_of(played.piece),
        )


def test_beats_outside_the_notes_are_not_invented() -> None:
    """Before the first and after the last note nothing is known."""
    played = perform(SEEDS[1], expressive=False, bars=12)
    aligned = align_notes(sounding_of(heard(played.sound, played.rate)), notes_of(played.piece))
    with pytest.raises(RequestError, match="before the first note or after the last"):
        aligned_beats(aligned, np.array([0.0, 1e4]))
    on, between = aligned_beats(
        aligned, np.array([aligned.quarters[3], aligned.quarters[3:5].mean()])
    )
    assert on.time_s < between.time_s
    assert on.uncertainty_s < between.uncertainty_s


@pytest.mark.parametrize(
    ("table", "words"),
    [
        (([0.0, 1], [60.0, 62], [1.0]), "an onset, a pitch and a length each"),
        (([0.0, np.nan] * 5, [60.0] * 10, [1.0] * 10), "numbers and lengths over 0"),
        (([0.0, 1] * 5, [60.0] * 10, [0.0] * 10), "numbers and lengths over 0"),
        (([0.0, 1], [60.0, 62], [1.0, 1]), "2 chords are too few to find in a recording"),
    ],
)
def test_notes_that_are_none_are_refused(table: tuple[list[float], ...], words: str) -> None:
    """One sentence."""
    with pytest.raises(RequestError, match=words):
        WrittenNotes(*(np.array(column) for column in table))


def test_written_notes_sound_where_they_are_written() -> None:
    """A scale in quarters: each frame holds its note and its overtones, the rises its onset."""
    pitches = np.arange(60, 70, dtype=np.float64)
    notes = WrittenNotes(np.arange(10, dtype=np.float64), pitches, np.ones(10))
    levels, rises = written_levels(notes, 96, lowest=33, pitches=72)
    for number, pitch in enumerate(pitches.astype(int)):
        middle = levels[10 * number + 4]
        assert middle[pitch - 33] == 1.0
        assert middle[pitch + 12 - 33] == 0.5
        assert rises[10 * number, pitch - 33] >= 1.0
    assert [chord.tolist() for chord in notes.by_chord()] == [[pitch] for pitch in pitches]
    assert notes.ends == (0.0, 9.5)
    assert averaged(levels, 10).shape == (9, 72)


def test_noise_is_like_nothing_written() -> None:
    """All pitches alike have no direction once their mean is off."""
    assert np.abs(centred(np.ones((3, 12), np.float32))).max() < 1e-6
