"""Several passages as one pack: own and supplied ones, in one file to hand out."""

import io
import zipfile
from pathlib import Path
from typing import Any

from starlette.testclient import TestClient

from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.packing.pack import make_pack
from rhythmtrain.rehearsal.packing.wish import PackWish
from tests.page.asking import posted

DRILL = 'title = "Evening March"\nmetre = "2/4"\ntempo = 80\nrhythm = "1 & 2 | 1 2"\n'
SUPPLIED = "08-first-and-second-time"


def bytes_by_name(browser: TestClient, pack: str) -> dict[str, int]:
    """Return what lies in a pack, each with its size."""
    answer = browser.get(f"/api/pack/{pack}")
    assert "attachment" in answer.headers["content-disposition"]
    infos = zipfile.ZipFile(io.BytesIO(answer.content)).infolist()
    return {each.filename: each.file_size for each in infos}


def test_several_passages_become_the_pack_that_the_command_line_makes(
    browser: TestClient, desk: Desk, tmp_path: Path
) -> None:
    """A teacher's week: own and supplied rhythms, as they were chosen; one that was spoilt is named."""
    own, bad = (
        posted(browser, "/api/passage/write", text=DRILL.replace("Evening", which))["name"]
        for which in ("Evening", "Bad")
    )
    folder = desk.sitting.folders.passages
    paths = [str(folder / name.partition(":")[2]) for name in (own, bad)]
    Path(paths[1]).write_text(DRILL.replace("Evening", "Bad").replace("1 & 2", "1 & 7"), "utf-8")
    how: dict[str, Any] = {"slowest": 1.0, "rungs": 1, "ending": "wav", "layers": "click"}
    told = posted(browser, "/api/pack", passages=[own, bad, f"supplied:{SUPPLIED}"], **how)
    into = tmp_path / "handout"
    written = make_pack(PackWish((*paths, SUPPLIED), **how), into)
    assert told["titles"] == [each["title"] for each in written.document["passages"]]
    assert told["titles"][0] == "Evening March"
    (why,) = told["failed"]
    assert why.startswith("Bad March: ")
    assert str(folder) not in why
    there = {
        each.relative_to(into).as_posix(): each.stat().st_size
        for each in into.rglob("*")
        if each.is_file()
    }
    assert bytes_by_name(browser, told["pack"]) == there
    assert "index.html" in there
    assert not [each for each in desk.sitting.passing.iterdir() if each.is_dir()]


def test_what_cannot_be_packed_at_all_is_said_by_its_title(browser: TestClient, desk: Desk) -> None:
    """Not by the name of a file that the person never saw."""
    names = [
        posted(browser, "/api/passage/write", text=DRILL.replace("Evening", which))["name"]
        for which in ("Bad", "Worse")
    ]
    for name in names:
        file = desk.sitting.folders.passages / name.partition(":")[2]
        file.write_text(file.read_text("utf-8").replace("1 & 2", "1 & 7"), "utf-8")
    for chosen in (names, names[:1]):
        sentence = browser.post("/api/pack", json={"passages": chosen}).json()["sentence"]
        assert "Bad March" in sentence
        assert "bar 1: beat 7" in sentence
        assert ".toml" not in sentence


def test_a_slip_is_one_sentence(browser: TestClient) -> None:
    """Nothing chosen, nothing there, a ladder that begins nowhere, a pack of yesterday."""
    name = f"supplied:{SUPPLIED}"
    for asked, words in (
        ({"passages": []}, "choose at least one passage"),
        ({"passages": ["own:gone.toml"]}, "there is no passage"),
        ({"passages": [7]}, "passage must be a text"),
        ({"passages": [name], "slowest": 3}, "slowest tempo"),
        ({"passages": [name], "ending": "exe"}, ".exe"),
    ):
        answer = browser.post("/api/pack", json=asked)
        assert answer.status_code == 422, asked
        assert words in answer.json()["sentence"]
    assert "the pack is gone" in browser.get("/api/pack/none").json()["sentence"]
