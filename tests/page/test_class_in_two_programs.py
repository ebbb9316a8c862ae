"""A class at two pages of two programs: neither takes from the other what it is hearing."""

import json
import time
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from rhythmtrain.page.app import page_app
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.classes.kept import HEARD
from rhythmtrain.rehearsal.desk.classes.recordings import brought, swept
from rhythmtrain.rehearsal.desk.classes.shelf import SOUNDS, to_hear
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.report.classes.text import class_json
from rhythmtrain.report.classes.view import ClassHeard, StudentRow
from rhythmtrain.storage.class_folder import read_notes
from tests.page.asking import posted

KEY, HOST = "k" * 20, "127.0.0.1:8000"
WISH = {"passage": "supplied:10-off-beats", "speed": 1.0, "repeats": 1}


@pytest.fixture
def elsewhere(desk: Desk) -> Iterator[TestClient]:
    """Give the page of another program that keeps its things in the folder of ``desk``."""
    assert desk.sitting.folders.takes.exists()
    with Desk() as other:
        app = page_app(other, key=KEY, hosts=frozenset({HOST}))
        browser = TestClient(app, base_url=f"http://{HOST}")
        browser.get("/", params={"key": KEY})
        yield browser


@pytest.fixture
def way(browser: TestClient) -> str:
    """Make a class with a recording in it; return where it is asked for."""
    name = posted(browser, "/api/classes", title="Tuesday")["class"]
    browser.post(f"/api/class/{name}/bring", params={"called": "Anna.wav"}, content=b"one")
    return f"/api/class/{name}"


@pytest.fixture
def folder(desk: Desk, way: str) -> Path:
    """Return the class's folder."""
    return desk.sitting.folders.passages.parent / "classes" / way.rpartition("/")[2]


def until_stopped(progress: Progress) -> None:
    """Go on until somebody says stop, but not for ever."""
    end_s = time.monotonic() + 300
    while time.monotonic() < end_s:
        progress(1, 3, "listening")
        time.sleep(0.001)


def test_a_class_that_one_program_hears_is_left_alone_by_the_other(
    browser: TestClient, elsewhere: TestClient, desk: Desk, way: str
) -> None:
    """From when it was asked for, though another class is heard first, until it was stopped."""
    desk.classroom.hearings.begin("another", 3, until_stopped)
    assert posted(browser, f"{way}/hear", **WISH)["state"] == "waits"
    (one,) = elsewhere.get(way).json()["recordings"]
    asked = {"called": "Bela.wav"}
    for answer in (
        elsewhere.post(f"{way}/hear", json=WISH),
        elsewhere.post(f"{way}/away", json={}),
        elsewhere.post(f"{way}/leave-out", json={"recording": one["recording"]}),
        elsewhere.post(f"{way}/bring", params=asked, content=b"two"),
    ):
        assert answer.status_code == 422
        assert "by another rhythmtrain that is open" in answer.json()["sentence"]
    posted(browser, f"{way}/stop")
    desk.classroom.hearings.stop("another")
    desk.classroom.hearings.wait()
    assert posted(elsewhere, f"{way}/leave-out", recording=one["recording"])["gone"] == "Anna.wav"
    assert browser.get(way).json()["recordings"] == []


def test_a_recording_that_is_being_heard_stays_until_the_class_is_heard_again(
    browser: TestClient, desk: Desk, way: str, folder: Path
) -> None:
    """It was on its way when the other program began: the newer one is kept, the older is heard."""
    asked = Asked({"class": folder.name, "called": "Anna.wav"})
    with desk.classroom.arriving(asked) as arriving:
        arriving.write(b"newer")
        hold = to_hear(folder)
        assert hold is not None
        assert arriving.whole()["instead"]
    (newer,) = brought(folder)
    both = {path.read_bytes() for path in (folder / SOUNDS).iterdir()}
    assert both == {b"one", b"newer"}
    hold.let_go()
    swept(folder, time.time() + 1)
    assert [path.name for path in (folder / SOUNDS).iterdir()] == [newer.file]
    assert [each["called"] for each in browser.get(way).json()["recordings"]] == ["Anna.wav"]


def test_lines_that_two_programs_keep_at_once_are_all_kept(
    browser: TestClient, elsewhere: TestClient, way: str, folder: Path
) -> None:
    """Two teachers share a class: neither's words are lost to the other's."""
    names = [f"Student {number}" for number in range(16)]
    rows = tuple(StudentRow(name, "x.wav", "", True, True, (), "", "") for name in names)
    told = class_json(ClassHeard("Off-beats", rows, (), len(rows)))
    (folder / HEARD).write_text(json.dumps(told), encoding="utf-8")

    def keep(numbered: tuple[int, str]) -> None:
        number, name = numbered
        page = (browser, elsewhere)[number % 2]
        posted(page, f"{way}/line", student=name, line=f"bar {number}")

    with ThreadPoolExecutor(4) as both:
        list(both.map(keep, enumerate(names)))
    assert read_notes(folder) == {name: f"bar {number}" for number, name in enumerate(names)}
