"""What was played just now is kept at once, and told even where it cannot be."""

from dataclasses import replace
from pathlib import Path

import pytest

from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.rehearsal.checking.checked import Asked, Checked, judged
from rhythmtrain.rehearsal.clapping.clap import clap_along
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.entering.enter import practise_entry
from rhythmtrain.rehearsal.entering.wish import EnterWish
from rhythmtrain.rehearsal.live.dry_run import Player, played_times
from rhythmtrain.rehearsal.live.keeping import NOT_KEPT, keep_live
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.storage.history.history import open_history
from rhythmtrain.timing.timeline import Practice, lay_out


@pytest.fixture(autouse=True)
def home(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Put the history into a folder of its own."""
    folder = tmp_path / "home"
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(folder))
    return folder


def _checked(rag: Path) -> Checked:
    timeline = lay_out(find_passage(str(rag)), Practice(count_in=1))
    heard = tuple(Heard(time, 0.0, 0.002) for time in played_times(timeline, Player()))
    take = Take("keys", "keys", heard, 40.0)
    start_s = float(timeline.track_seconds(timeline.bars[1].start))
    return judged(timeline, take, Settings(start_s=start_s), Asked(str(rag), live=""))


def test_a_take_is_kept_with_its_onsets(rag: Path) -> None:
    """So that it can be judged again when the rules improve."""
    checked = _checked(rag)
    kept = keep_live(checked, ClapWish(str(rag)), helped="everything")
    assert kept.said == ("Kept in your history as take 1.",)
    assert kept.warnings == ()
    with open_history() as history:
        found = history.take(1)
    assert found is not None
    assert found.record.onsets == checked.take.heard
    assert found.record.source == "keys"
    assert found.record.help == "everything"


def test_another_passage_is_not_kept_under_this_one(rag: Path) -> None:
    """A history of the wrong piece helps nobody."""
    checked = _checked(rag)
    other = replace(checked, findings=replace(checked.findings, looks_like=False))
    assert keep_live(other, ClapWish(str(rag))) == NOT_KEPT


def test_a_history_that_cannot_be_written_is_a_warning(rag: Path, home: Path) -> None:
    """What was heard is told all the same."""
    home.write_text("a file where the folder should be", encoding="utf-8")
    kept = keep_live(_checked(rag), ClapWish(str(rag)))
    assert kept.number is None
    assert kept.said == ()
    assert "the take was not kept: " in kept.warnings[0]


def test_a_dry_run_keeps_nothing(home: Path) -> None:
    """An invented player is in nobody's history."""
    assert clap_along(ClapWish("off-beats", dry_run=True)).document["kept_as"] is None
    practise_entry(EnterWish("towpath-entry", dry_run=True, tries=1))
    assert not home.exists()
