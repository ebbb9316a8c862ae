"""The demo: the whole job, once, in any folder, with no hardware."""

import json
from pathlib import Path

import pytest

from rhythmtrain.errors import FileError
from rhythmtrain.rehearsal.demo import run_demo


def test_the_demo_does_the_whole_job(tmp_path: Path) -> None:
    """Three tempi, one over the piano, a MIDI file, two takes heard, one page; and it says what to type next."""
    steps: list[tuple[float, float, str]] = []
    folder = tmp_path / "new" / "demo"
    told = run_demo(folder, progress=lambda done, total, what: steps.append((done, total, what)))
    names = sorted(path.name for path in folder.iterdir())
    assert names == [
        "clapping.flac", "playing.flac", "report.html", "sluice-gate-rag-slowed.mp3",
        "towpath-rag-36.mp3", "towpath-rag-54.mp3", "towpath-rag-72.mp3", "towpath-rag.mid",
    ]  # fmt: skip
    assert sorted(path.name for path in told.files) == names
    assert all(path.stat().st_size > 500 for path in told.files)
    for words in (
        "Good   ",
        "First  ",
        "playing.flac, with the recording",
        "you came in one beat early",
        "rhythmtrain check",
        "volume",
    ):
        assert words in told.text
    assert all(len(line) <= 78 for line in told.text.splitlines() if str(folder) not in line)
    clapped, played = told.document["checks"]
    assert clapped["looks_like_the_passage"] is True
    assert played["timing"] == "recording"
    assert played["entries"][1]["verdict"] == "one beat early"
    json.dumps(told.document, allow_nan=False)
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert page.count("<svg") == 2
    assert list(steps[-1]) == [8, 8, "done"]
    assert [done for done, _, _ in steps] == sorted(done for done, _, _ in steps)


def test_a_file_in_the_way_says_so(tmp_path: Path) -> None:
    """With the option that helps."""
    (tmp_path / "demo").write_text("mine", encoding="utf-8")
    with pytest.raises(FileError, match=r"is a file.name-a-folder"):
        run_demo(tmp_path / "demo")
    with pytest.raises(FileError, match="cannot be made"):
        run_demo(tmp_path / "demo" / "inside")
    assert (tmp_path / "demo").read_text(encoding="utf-8") == "mine"
