"""The engraver in its own process: what it draws, and one line where it cannot."""

import re
import time
from pathlib import Path

import pytest

from rhythmtrain.devices.engraver import engrave
from rhythmtrain.errors import DeviceError, MissingPartError
from rhythmtrain.report.sheets.mei import mei_of
from rhythmtrain.storage.drills import load_drill

FOR_EVER_S = 60


def document(name: str) -> str:
    """Return the document of a supplied drill."""
    passage = load_drill(name).passage
    assert passage is not None
    return mei_of(passage)


def test_each_system_is_a_drawing_of_its_own() -> None:
    """So pages can be laid out with room for a pencil under each."""
    (systems,) = engrave([document("towpath-entry")])
    assert len(systems) > 1
    assert all(system.startswith("<svg") for system in systems)
    assert all(system.count('class="system"') == 1 for system in systems)


def test_a_narrow_drawing_has_more_systems_for_a_small_screen() -> None:
    """A phone shows the same notes as paper does, in shorter lines and as large."""
    (wide,) = engrave([document("towpath-entry")])
    (narrow,) = engrave([document("towpath-entry")], width=900)
    assert len(narrow) > len(wide)
    assert all(re.search(r'viewBox="0 0 900 ', system) for system in narrow)


def test_the_same_passage_is_drawn_the_same_way_twice() -> None:
    """A sheet that is made again does not differ."""
    asked = [document("off-beats")]
    assert engrave(asked) == engrave(asked)


def child(folder: Path, monkeypatch: pytest.MonkeyPatch, code: str) -> str:
    """Write a module that stands for the process that draws; return its name."""
    (folder / "broken_engraver.py").write_text(code, encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(folder))
    return "broken_engraver"


def test_a_crash_there_is_one_line_here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A fault in somebody's library never takes the practice down."""
    name = child(tmp_path, monkeypatch, "import os\nos.abort()\n")
    with pytest.raises(DeviceError, match="engraver stopped"):
        engrave(["<mei/>"], child=name)


def test_an_engraver_that_hangs_is_given_up(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody waits for ever."""
    name = child(tmp_path, monkeypatch, "import threading\nthreading.Event().wait()\n")
    begun = time.monotonic()
    with pytest.raises(DeviceError, match=r"did not finish within 0\.5 s"):
        engrave(["<mei/>"], child=name, patience_s=0.5)
    assert time.monotonic() - begun < FOR_EVER_S


def test_a_missing_engraver_says_how_to_install_it(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The command to type stands in the line."""
    (tmp_path / "verovio.py").write_text("raise ImportError\n", encoding="utf-8")
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))
    with pytest.raises(MissingPartError, match="pip install verovio"):
        engrave([document("off-beats")])


def test_what_is_no_music_is_refused_in_one_line() -> None:
    """The library's own complaints are not for players."""
    with pytest.raises(DeviceError, match="engraver stopped"):
        engrave(["no music"])
