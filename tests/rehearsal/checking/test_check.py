"""Checking a take: from two files to words, JSON and a page."""

import json
from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.checking.check import CheckWish, check, check_file
from tests.rehearsal.conftest import Written


def test_a_good_take_is_told_so(rag: Path, times_s: list[float], written: Written) -> None:
    """Praise, and one mark faster."""
    told = check_file(written(times_s), CheckWish(str(rag), speed=1.0, repeats=2))
    assert "Good   Every note was there" in told.text
    assert told.failure == ""
    assert told.document["looks_like_the_passage"] is True
    assert told.document["take"]["source"] == "text"
    json.dumps(told.document, allow_nan=False)


def test_a_missing_and_a_late_note_are_named(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """The page is written, and named in the text."""
    times_s[6] += 0.3
    del times_s[3]
    page = rag.parent / "heard.html"
    wish = CheckWish(str(rag), speed=1.0, repeats=2, report=page)
    told = check_file(written(times_s), wish)
    assert "Bar 1: beat 2 was not heard, the first time." in told.text
    assert told.text.endswith(f"Report written to {page}: open it in a browser.")
    assert told.files == (page,)
    assert "hear bar 1" in page.read_text(encoding="utf-8")


def test_another_piece_fails_but_is_still_told(rag: Path, written: Written) -> None:
    """A script sees it; a person reads one kind question; the page holds no more than that."""
    times = np.cumsum(np.tile([0.31, 0.31, 0.93, 0.155, 0.62], 12))
    page = rag.parent / "heard.html"
    take = written(times.tolist())
    told = check_file(take, CheckWish(str(rag), speed=1.0, repeats=2, report=page))
    assert told.failure.startswith("take.txt: This does not sound like Kitchen Rag.")
    assert "<svg" not in page.read_text(encoding="utf-8")
    assert "<audio" not in page.read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["heard.pdf", "heard"])
def test_a_report_is_a_page(rag: Path, written: Written, name: str) -> None:
    """Said before anything is heard."""
    with pytest.raises(RequestError, match=r"name it like heard\.html"):
        check_file(written([1.0, 2.0]), CheckWish(str(rag), report=Path(name)))


def test_a_report_needs_its_folder(rag: Path, written: Written, tmp_path: Path) -> None:
    """Said before anything long is done."""
    gone = tmp_path / "gone" / "heard.html"
    with pytest.raises(FileError, match="does not exist"):
        check_file(written([1.0, 2.0]), CheckWish(str(rag), report=gone))


def test_the_excerpt_asked_for_stays_in_what_to_type_next(
    rag: Path, times_s: list[float], written: Written
) -> None:
    """Bars 1 to 4 were practised; the next track is of bars 1 to 4."""
    first_bars = [time for time in times_s if time < 2 + 4 * 2 * 60 / 72]
    checked = check(written(first_bars), CheckWish(str(rag), bars="1-4", speed=1.0))
    assert "--bars 1-4" in checked.said.command
    assert checked.heard.playing.noun == "note"


def test_aloud_is_for_claps() -> None:
    """Nobody counts aloud into a clarinet."""
    wish = CheckWish("offbeats", kind="wind", aloud=True)
    with pytest.raises(RequestError, match=r"aloud. is for claps: leave it out with .*as.wind"):
        check_file(Path("take.wav"), wish)
