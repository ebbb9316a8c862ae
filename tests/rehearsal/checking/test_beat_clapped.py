"""The beat clapped in place of the rhythm: told at once, kept nowhere, no success and no failure."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.rehearsal.checking.check import CheckWish, check_file
from rhythmtrain.rehearsal.checking.checked import Asked, judged
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.classes.student import StudentJob, hear_student
from rhythmtrain.rehearsal.live.keeping import keep_live
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.told import quietly
from rhythmtrain.report.take.instead_told import NOT_KEPT
from rhythmtrain.storage.class_folder import Student
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.rehearsal.conftest import Written


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Put the history into a folder of its own."""
    folder = tmp_path / "home"
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(folder))
    return folder


@pytest.fixture
def beats_s(rag: Path) -> list[float]:
    """Return when the beat of the rag, twice through, is clapped: bar 1 at 2 s."""
    timeline = lay_out(find_passage(str(rag)), Practice(repeats=2))
    last_s, beat_s = timeline.seconds(timeline.stop), 60.0 / timeline.passage.tempo
    beats = np.arange(0, last_s - 0.5 * beat_s, beat_s)
    off = np.random.default_rng(3).normal(0, 0.02, len(beats))
    return [float(2.0 + beat + by) for beat, by in zip(beats, off, strict=True)]


def test_it_is_told_first_and_kept_nowhere(
    rag: Path, beats_s: list[float], written: Written, home: Path
) -> None:
    """It is heard well enough, so nothing failed; but the history holds takes of the rhythm."""
    told = check_file(written(beats_s), CheckWish(str(rag), speed=1.0, repeats=2, keep=True))
    assert told.failure == ""
    assert "You played the beat, not the rhythm." in told.text
    assert told.text.endswith(NOT_KEPT)
    assert "not heard" not in told.text
    assert told.document["clapped_instead"]["what"] == "beat"
    assert told.document["looks_like_the_passage"] is False
    assert "kept_as" not in told.document
    assert not home.exists()


def test_played_live_it_is_said_not_to_be_kept(rag: Path, beats_s: list[float], home: Path) -> None:
    """Nobody looks for it in the history, or fears for what is there."""
    timeline = lay_out(find_passage(str(rag)), Practice(repeats=2))
    take = Take("keys", "keys", tuple(Heard(time) for time in beats_s), beats_s[-1] + 1)
    checked = judged(timeline, take, Settings(start_s=2.0), Asked(str(rag), live=""))
    assert checked.said.first.startswith("You clapped the beat, not the rhythm.")
    assert "rhythmtrain clap" in checked.said.command
    kept = keep_live(checked, ClapWish(str(rag)))
    assert (kept.number, kept.warnings) == (None, (NOT_KEPT,))
    assert not home.exists()
    rhythm = replace(checked, findings=replace(checked.findings, instead=None, looks_like=True))
    assert keep_live(rhythm, ClapWish(str(rag))).number == 1


def test_a_teacher_reads_it_in_the_row_of_the_student(
    rag: Path, beats_s: list[float], written: Written
) -> None:
    """A class where half clapped along with the beat is taught otherwise than one that misreads."""
    path = written(beats_s)
    student = Student("Anna", (path,), (path.name,))
    row = hear_student(StudentJob(student, CheckWish(str(rag), speed=1.0, repeats=2)), quietly).row
    assert row is not None
    assert row.at_all == "the beat, not the rhythm"
    assert row.first.startswith("You played the beat")
