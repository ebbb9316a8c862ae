"""The practice sheet in a pack, and packs of scores: paper beside the tracks, linked from the page."""

import sys
from pathlib import Path

import pytest
from pypdf import PdfReader

from rhythmtrain.rehearsal.packing.pack import make_pack
from rhythmtrain.rehearsal.packing.sheet import pack_sheet
from rhythmtrain.rehearsal.packing.wish import PackWish
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.passages.show import ShowWish, show_passage

TOO_FINE = 'title = "F"\nmetre = "2/4"\ntempo = 60\nrhythm = "1 1+1/64 2"\n'


def wish(*passages: str) -> PackWish:
    """Return a pack of one tempo."""
    return PackWish(passages, slowest=1.0, rungs=1)


@pytest.fixture(scope="module")
def mixed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder with a pack of a folder that holds a drill, a score and a MIDI file."""
    desk = tmp_path_factory.mktemp("desk")
    week = desk / "week"
    week.mkdir()
    for name in ("upbeat.toml", "called.musicxml", "own.mid"):
        show_passage(ShowWish("upbeat", bars="1-2", output=week / name))
    show_passage(ShowWish("off-beats", bars="1-2", output=week / "named.musicxml"))
    (week / "named.toml").write_text('title = "Named"\nscore = "named.musicxml"\n')
    make_pack(wish(str(week)), desk / "out")
    return desk / "out"


def test_a_folder_of_drills_and_scores_is_packed_each_once(mixed: Path) -> None:
    """A score that a drill names is not packed a second time beside it."""
    assert sorted(path.name for path in mixed.iterdir()) == [
        "called", "index.html", "named", "own", "sheet.pdf", "upbeat",
    ]  # fmt: skip


def test_the_sheet_holds_all_passages_and_the_page_links_it(mixed: Path) -> None:
    """A class gets one thing to print, several drills to a page."""
    reader = PdfReader(mixed / "sheet.pdf")
    assert len(reader.pages) == 1
    text = reader.pages[0].extract_text()
    assert "Over the Stile" in text
    assert "Named" in text
    assert '<a href="sheet.pdf">' in (mixed / "index.html").read_text(encoding="utf-8")


def test_without_what_makes_pdf_the_sheet_is_a_page(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And an older PDF does not stay beside it."""
    (tmp_path / "sheet.pdf").write_bytes(b"old")
    monkeypatch.setitem(sys.modules, "cairosvg", None)
    files, said = pack_sheet([("off-beats", find_passage("off-beats"))], tmp_path)
    assert [file.name for file in files] == ["sheet.html"]
    assert "pip install cairosvg" in said[0]
    assert [path.name for path in tmp_path.iterdir()] == ["sheet.html"]


def test_what_cannot_be_drawn_is_said_and_the_rest_is_on_the_sheet(tmp_path: Path) -> None:
    """Nobody loses a pack for one bar."""
    fine = tmp_path / "fine.toml"
    fine.write_text(TOO_FINE)
    passages = [(name, find_passage(name)) for name in (str(fine), "off-beats")]
    files, said = pack_sheet(passages, tmp_path)
    assert [file.name for file in files] == ["sheet.pdf"]
    assert said[0].startswith(f"{fine} is not on the sheet: bar 1")
    assert pack_sheet(passages[:1], tmp_path)[0] == ()


def test_without_an_engraver_there_is_a_pack_without_a_sheet(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Tracks are the heart of it."""
    monkeypatch.setattr("rhythmtrain.devices.engraver.sys.executable", "/bin/false")
    files, said = pack_sheet([("off-beats", find_passage("off-beats"))], tmp_path)
    assert files == ()
    assert said[0].startswith("there is no practice sheet: the engraver stopped")
