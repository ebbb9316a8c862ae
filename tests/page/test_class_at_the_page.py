"""A class at the page: recordings brought, heard beside the page, told, lined, taken away."""

import io
import json
import os
import shutil
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import soundfile
from starlette.testclient import TestClient

from rhythmtrain.errors import FileError
from rhythmtrain.page import guard
from rhythmtrain.page.app import page_app
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.classes import arriving as class_arriving
from rhythmtrain.rehearsal.desk.classes import shelf as class_shelf
from rhythmtrain.rehearsal.desk.classes.hearing import Hearings
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.storage.class_folder import read_notes
from tests.page.asking import posted
from tests.simulate.class_takes import clapped

OFF_BEATS = "10-off-beats"
PASSAGE = f"supplied:{OFF_BEATS}"
RATE = 44_100
ZOE = "Zo\u00eb O\u2019Dell, d\u2019\u00c9tampes"


def brought(browser: TestClient, name: str, called: str, data: bytes) -> Any:
    """Return the answer to a recording that is brought."""
    return browser.post(f"/api/class/{name}/bring", params={"called": called}, content=data)


def refused(answer: Any) -> str:
    """Return the one sentence of an answer that is no."""
    assert answer.status_code == 422, answer.text
    return str(answer.json()["sentence"])


def wav(seed: int) -> bytes:
    """Return a student's claps as the bytes of a file."""
    file = io.BytesIO()
    soundfile.write(file, clapped(OFF_BEATS, seed, speed=1.0, repeats=1), RATE, format="WAV")
    return file.getvalue()


@pytest.fixture
def tuesday(browser: TestClient) -> str:
    """Make a class with nobody in it; return its name."""
    return str(posted(browser, "/api/classes", title="Tuesday, five o\u2019clock")["class"])


def heard(browser: TestClient, desk: Desk, name: str, **wishes: Any) -> dict[str, Any]:
    """Hear a class to the end and return all of it."""
    asked: dict[str, Any] = {"passage": PASSAGE, "speed": 1.0, "repeats": 1} | wishes
    begun = posted(browser, f"/api/class/{name}/hear", **asked)
    assert begun["state"] in ("waits", "hears", "done")
    desk.classroom.hearings.wait()
    document = browser.get(f"/api/class/{name}").json()
    assert document["hearing"]["state"] == "done", document["hearing"]
    return dict(document)


@pytest.fixture(scope="module")
def heard_once(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Hear a class: two recordings of a student, one of another, one that is damaged.

    Return the folder of the user, to be copied: processes that hear take seconds to start.
    """
    home = tmp_path_factory.mktemp("heard-once")
    rough = io.BytesIO()
    sound = clapped(OFF_BEATS, 2, speed=1.0, repeats=1)
    soundfile.write(rough, sound[: 6 * RATE], RATE, format="FLAC")
    with pytest.MonkeyPatch.context() as patch, Desk(home) as desk:
        patch.setenv("RHYTHMTRAIN_HOME", str(home))
        browser = opened(desk)
        name = str(posted(browser, "/api/classes", title="Tuesday, five o\u2019clock")["class"])
        for called, data in (
            (f"{ZOE}/try one.flac", rough.getvalue()),
            (f"{ZOE}/try two.wav", wav(0)),
            ("Ay\u015fe.wav", wav(3)),
            ("Carla.m4a", b"rubbish"),
        ):
            assert brought(browser, name, called, data).status_code == 200
        heard(browser, desk, name)
        assert browser.get("/api/takes").json()["takes"] == []
    return home


@pytest.fixture
def told(browser: TestClient, desk: Desk, heard_once: Path) -> dict[str, Any]:
    """Return what was heard of a class that this test may change."""
    top = desk.sitting.folders.passages.parent
    shutil.copytree(heard_once / "page" / "classes", top / "classes", dirs_exist_ok=True)
    (each,) = browser.get("/api/classes").json()["classes"]
    return dict(browser.get(f"/api/class/{each['class']}").json())


def opened(desk: Desk) -> TestClient:
    """Return a browser that has opened the page of ``desk``."""
    app = page_app(desk, key="k" * 20, hosts=frozenset({"127.0.0.1:8000"}))
    browser = TestClient(app, base_url="http://127.0.0.1:8000")
    browser.get("/", params={"key": "k" * 20})
    return browser


def test_everybody_is_heard_and_told_of_and_failures_stop_nobody(
    browser: TestClient, told: dict[str, Any]
) -> None:
    """A row a student under their own spelling, a cell a bar, and what could not be heard."""
    rows = told["heard"]["students"]
    assert [row["name"] for row in rows] == ["Ay\u015fe", ZOE]
    assert rows[1]["recording"] == f"{ZOE}/try two.wav"
    assert [each["recording"] for each in rows[1]["others"]] == [f"{ZOE}/try one.flac"]
    assert {cell["words"] for cell in rows[1]["bars"]} == {"right"}
    assert {cell["shape"] for cell in rows[1]["bars"]} == {"\u00b7"}
    (failed,) = told["heard"]["not_heard"]
    assert failed["recording"] == "Carla.m4a"
    assert failed["why"].startswith("Carla.m4a is not a recording that can be read")
    assert "page/classes" not in json.dumps(told)
    listed = browser.get("/api/classes").json()["classes"]
    assert [(each["students"], each["recordings"]) for each in listed] == [(3, 4)]
    assert listed[0]["heard_at"]


def test_a_line_is_typed_and_stands_wherever_the_student_is_told_of(
    browser: TestClient, desk: Desk, told: dict[str, Any]
) -> None:
    """It is kept as the command's own notes are, and can be taken back."""
    way = f"/api/class/{told['class']}"
    line = "Bar 2 with <Clara> & me,\n once more."
    assert posted(browser, f"{way}/line", student=ZOE, line=line)["line"].endswith("me, once more.")
    folder = desk.sitting.folders.passages.parent / "classes" / told["class"]
    assert read_notes(folder) == {ZOE: "Bar 2 with <Clara> & me, once more."}
    row = browser.get(way).json()["heard"]["students"][1]
    assert row["note"] == "Bar 2 with <Clara> & me, once more."
    for page in ("class.html", row["page"]):
        assert (
            "Bar 2 with &lt;Clara&gt; &amp; me, once more."
            in browser.get(f"{way}/page/{page}").text
        )
    posted(browser, f"{way}/line", student=ZOE, line="")
    assert "Clara" not in browser.get(f"{way}/page/{row['page']}").text
    assert "letters" in refused(
        browser.post(f"{way}/line", json={"student": ZOE, "line": "x" * 501})
    )
    assert "not in this class" in refused(
        browser.post(f"{way}/line", json={"student": "Nobody", "line": ""})
    )


def test_pages_keep_to_themselves(browser: TestClient, told: dict[str, Any]) -> None:
    """The class's page runs no script; a student's runs its own, alone, and is of no origin."""
    way = f"/api/class/{told['class']}/page"
    page = browser.get(f"{way}/class.html")
    assert "script-src" not in page.headers["content-security-policy"]
    assert "default-src 'none'" in page.headers["content-security-policy"]
    assert "sandbox" not in page.headers["content-security-policy"]
    links = {row["page"] for row in told["heard"]["students"]}
    for name in links:
        student = browser.get(f"{way}/{name}")
        assert "sandbox allow-scripts" in student.headers["content-security-policy"]
        assert "allow-same-origin" not in student.headers["content-security-policy"]
    for strange in ("../heard.json", "heard.json", "notes.toml", "..%2F..%2Fclass.json", "x.html"):
        assert browser.get(f"{way}/{strange}").status_code in (404, 422)


def test_everything_is_taken_away_as_one_file(browser: TestClient, told: dict[str, Any]) -> None:
    """Pages with the teacher's lines, to send to each student; the lines as the command reads them."""
    posted(browser, f"/api/class/{told['class']}/line", student=ZOE, line="See me.")
    answer = browser.get(f"/api/class/{told['class']}/zip")
    assert "tuesday-five-oclock-class.zip" in answer.headers["content-disposition"]
    file = zipfile.ZipFile(io.BytesIO(answer.content))
    pages = {row["page"] for row in told["heard"]["students"]}
    assert set(file.namelist()) == pages | {"class.html", "class.json", "notes.toml"}
    page = told["heard"]["students"][1]["page"]
    assert "See me." in file.read(page).decode("utf-8")
    assert "See me." in file.read("class.html").decode("utf-8")
    assert "See me." in file.read("notes.toml").decode("utf-8")
    assert "write here" in file.read(told["heard"]["students"][0]["page"]).decode("utf-8")


def test_a_student_who_is_renamed_keeps_recordings_page_and_line(
    browser: TestClient, told: dict[str, Any]
) -> None:
    """Nothing is heard anew; the same folder brought again is hers, and everything has her new name."""
    way = f"/api/class/{told['class']}"
    posted(browser, f"{way}/line", student=ZOE, line="See me.")
    assert posted(browser, f"{way}/rename", student=ZOE, name=" Abel  &  Z\u00e9 ") == {
        "student": "Abel & Z\u00e9",
        "before": ZOE,
    }
    after = browser.get(way).json()
    rows = after["heard"]["students"]
    assert [row["name"] for row in rows] == ["Abel & Z\u00e9", "Ay\u015fe"]
    assert (rows[0]["note"], rows[0]["page"]) == ("See me.", "Abel & Z\u00e9.html")
    assert rows[0]["bars"] == told["heard"]["students"][1]["bars"]
    assert after["heard"]["right"]["Abel & Z\u00e9"]
    assert not after["heard"]["changed"]
    whose = {each["called"]: each["student"] for each in after["recordings"]}
    assert whose[f"{ZOE}/try one.flac"] == "Abel & Z\u00e9"
    page = browser.get(f"{way}/page/{rows[0]['page']}").text
    assert "<h1>Abel &amp; Z\u00e9</h1>" in page
    assert "See me." in page
    assert "Dell" not in page.replace(rows[0]["recording"], "").partition("</title>")[0]
    assert browser.get(f"{way}/page/{told['heard']['students'][1]['page']}").status_code == 422
    assert "Abel &amp; Z\u00e9" in browser.get(f"{way}/page/class.html").text
    answer = browser.get(f"{way}/zip")
    file = zipfile.ZipFile(io.BytesIO(answer.content))
    assert "Abel & Z\u00e9.html" in file.namelist()
    assert '"Abel & Z\u00e9" = "See me."' in file.read("notes.toml").decode("utf-8")
    posted(browser, f"{way}/line", student="Abel & Z\u00e9", line="Well done.")
    assert browser.get(way).json()["heard"]["students"][0]["note"] == "Well done."
    again = brought(browser, told["class"], f"{ZOE}/try one.flac", b"x").json()
    assert again == {"student": "Abel & Z\u00e9", "called": f"{ZOE}/try one.flac", "instead": True}


def test_a_class_is_still_there_after_the_program_was_killed(
    browser: TestClient, told: dict[str, Any]
) -> None:
    """With what was heard; and what came since then is said to be new."""
    brought(browser, told["class"], "Ay\u015fe.wav", wav(1))
    with Desk() as later:
        folder = later.classroom.listed()["classes"][0]
        assert folder["class"] == told["class"]
    document = browser.get(f"/api/class/{told['class']}").json()
    assert [row["name"] for row in document["heard"]["students"]] == ["Ay\u015fe", ZOE]
    assert document["heard"]["changed"]
    assert document["asked"] == {"passage": PASSAGE, "speed": 1.0, "repeats": 1}
    assert len(document["recordings"]) == 4


def test_a_class_is_heard_again_after_the_program_was_killed_in_the_middle(
    browser: TestClient, desk: Desk, told: dict[str, Any]
) -> None:
    """Half a line, pages that were not finished: what was brought and typed is all there."""
    folder = desk.sitting.folders.passages.parent / "classes" / told["class"]
    posted(browser, f"/api/class/{told['class']}/line", student=ZOE, line="See me.")
    with (folder / "recordings.jsonl").open("ab") as file:
        file.write(b'{"file": "x.wav", "stud')
    (folder / "pages-dead").mkdir()
    (folder / "pages-dead" / "Anna.html").write_text("half")
    (folder / "heard.json").write_text('{"passage": "Ra')
    brought(browser, told["class"], "Bela.wav", wav(1))
    document = heard(browser, desk, told["class"], bars="1-2")
    rows = document["heard"]["students"]
    assert [row["name"] for row in rows] == ["Ay\u015fe", "Bela", ZOE]
    assert [len(row["bars"]) for row in rows] == [2, 2, 2]
    assert rows[2]["note"] == "See me."
    assert not document["heard"]["changed"]
    assert document["asked"]["bars"] == "1-2"
    assert len(list(folder.glob("pages-*"))) == 1
    assert "See me." in browser.get(f"/api/class/{told['class']}/page/{rows[2]['page']}").text


def test_what_was_kept_in_another_form_is_said_and_can_be_heard_again(
    browser: TestClient, desk: Desk, tuesday: str
) -> None:
    """An older version's class opens all the same."""
    folder = desk.sitting.folders.passages.parent / "classes" / tuesday
    (folder / "heard.json").write_text('{"passage": "Rag"}')
    document = browser.get(f"/api/class/{tuesday}").json()
    assert document["heard"] is None
    assert "hear it again" in document["trouble"]
    assert "hear it again" in refused(browser.get(f"/api/class/{tuesday}/zip"))


def test_a_recording_that_comes_again_takes_the_place_of_the_older_one(
    browser: TestClient, desk: Desk, tuesday: str
) -> None:
    """The same folder is dropped once more: nobody is heard twice; one can be left out."""
    said = [
        brought(browser, tuesday, "Anna/one.wav", data).json() for data in (b"older", b"newest")
    ]
    assert [each["instead"] for each in said] == [False, True]
    brought(browser, tuesday, "Anna/two.wav", b"another")
    document = browser.get(f"/api/class/{tuesday}").json()
    assert [each["called"] for each in document["recordings"]] == ["Anna/one.wav", "Anna/two.wav"]
    folder = desk.sitting.folders.passages.parent / "classes" / tuesday / "recordings"
    assert sorted(path.read_bytes() for path in folder.iterdir()) == [b"another", b"newest"]
    first = document["recordings"][0]["recording"]
    posted(browser, f"/api/class/{tuesday}/leave-out", recording=first)
    document = browser.get(f"/api/class/{tuesday}").json()
    assert [each["called"] for each in document["recordings"]] == ["Anna/two.wav"]
    answer = browser.post(f"/api/class/{tuesday}/leave-out", json={"recording": "../class.json"})
    assert "not here any more" in refused(answer)


@pytest.mark.parametrize(
    ("called", "student"),
    [
        ("Anna.m4a", "Anna"),
        ("Anna/week 2/one.mov", "Anna"),
        ("/../Anna/x.wav", ".."),
        ("E\u0301lan.wav", "\u00c9lan"),
        ("a\nb.wav", "a?b"),
        ("  Zo\u00eb  / one.wav", "Zo\u00eb"),
        ("\u05d3\u05e0\u05d4.wav", "\u05d3\u05e0\u05d4"),
    ],
)
def test_whose_a_recording_is_stands_in_what_it_is_called(
    browser: TestClient, desk: Desk, tuesday: str, called: str, student: str
) -> None:
    """And leads nowhere: every file lies in the class's own folder, under a name made there."""
    assert brought(browser, tuesday, called, b"x").json()["student"] == student
    top = desk.sitting.folders.passages.parent / "classes" / tuesday
    (file,) = (top / "recordings").iterdir()
    assert file.stem.isalnum()
    assert {path.name for path in top.iterdir()} == {"class.json", "recordings.jsonl", "recordings"}


def test_a_name_that_is_taken_is_refused_and_one_can_be_given_back(
    browser: TestClient, tuesday: str
) -> None:
    """Nobody is mixed up with anybody; a slip is one sentence."""
    way = f"/api/class/{tuesday}"
    for called in ("Anna/one.wav", "Bela.wav"):
        brought(browser, tuesday, called, b"x")

    def answer(student: str, name: str) -> Any:
        return browser.post(f"{way}/rename", json={"student": student, "name": name})

    assert "there is Bela in this class already" in refused(answer("Anna", "bela"))
    assert "1 to 120 letters" in refused(answer("Anna", "  "))
    assert "1 to 120 letters" in refused(answer("Anna", "x" * 121))
    assert "not in this class" in refused(answer("Carla", "Dora"))
    for before, name in (("Anna", "Anna K."), ("Anna K.", "anna k."), ("anna k.", "Kira")):
        assert answer(before, name).json()["student"] == name
    assert brought(browser, tuesday, "Anna/two.wav", b"x").json()["student"] == "Kira"
    assert brought(browser, tuesday, "Kira.wav", b"x").json()["student"] == "Kira"
    assert answer("Bela", "Anna").status_code == 200
    assert brought(browser, tuesday, "Anna/three.wav", b"x").json()["student"] == "Kira"
    assert "there is Anna in this class" in refused(answer("Kira", "Anna"))
    assert answer("Anna", "Bela").status_code == 200
    assert answer("Kira", "Anna").status_code == 200
    students = [each["student"] for each in browser.get(way).json()["recordings"]]
    assert students == ["Anna", "Bela", "Anna", "Anna", "Anna"]


def test_a_recording_that_does_not_come_whole_leaves_nothing(
    browser: TestClient, desk: Desk, tuesday: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Too much of it, though nobody said how much it would be; or a program that was killed."""
    monkeypatch.setattr(guard, "MOST_BYTES", 1000)
    folder = desk.sitting.folders.passages.parent / "classes" / tuesday / "recordings"

    def endless() -> Iterator[bytes]:
        for _ in range(20):
            yield b"x" * 200

    way = f"/api/class/{tuesday}/bring"
    answer = browser.post(way, params={"called": "Anna.wav"}, content=endless())
    assert answer.status_code == 400
    assert list(folder.iterdir()) == []
    for name in (".half.wav", "no-line.wav", ".coming.wav"):
        (folder / name).write_bytes(b"x")
    for name in (".half.wav", "no-line.wav"):
        os.utime(folder / name, (0, 0))
    answer = browser.post(f"/api/class/{tuesday}/hear", json={"passage": PASSAGE})
    assert "bring a folder or files first" in refused(answer)
    assert [path.name for path in folder.iterdir()] == [".coming.wav"]


def test_what_is_no_recording_or_too_much_is_refused_in_one_sentence(
    browser: TestClient, tuesday: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Each with what is allowed, or what to do."""
    for called in ("letter.pdf", "", "Anna"):
        assert "is no recording: bring one of" in refused(brought(browser, tuesday, called, b"x"))
    assert "letters" in refused(brought(browser, tuesday, f"{'x' * 130}.wav", b"x"))
    assert "letters" in refused(brought(browser, tuesday, f"A/{'x' * 600}.wav", b"x"))
    monkeypatch.setattr(class_arriving, "MOST_RECORDINGS", 1)
    brought(browser, tuesday, "Anna.wav", b"x")
    assert "holds 1 recordings" in refused(brought(browser, tuesday, "Bela.wav", b"x"))
    monkeypatch.setattr(class_arriving, "MOST_BYTES", 10)
    assert "at most 0 GB" in refused(brought(browser, tuesday, "Anna.wav", b"x" * 11))
    monkeypatch.setattr(class_shelf, "MOST_CLASSES", 1)
    assert "take old ones away" in refused(browser.post("/api/classes", json={"title": "B"}))
    assert "shorter" in refused(browser.post("/api/classes", json={"title": "B" * 200}))


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ({"passage": "supplied:none"}, "no passage"),
        ({"bars": "900-901"}, "bar"),
        ({"tempo": 60.0}, "not both"),
        ({"speed": 900.0}, "speed"),
        ({"kind": "kazoo"}, "choose claps"),
        ({"kind": "wind", "aloud": True}, "claps only"),
        ({"timing": "recording"}, "under Recording"),
        ({"repeats": 0}, "repeat"),
        ({"echo": -1}, "echo"),
        ({"part": "Clarinet"}, "part"),
        ({"repeats": 1.5}, "whole number"),
    ],
)
def test_a_slip_in_what_was_chosen_is_one_sentence_at_once(
    browser: TestClient, tuesday: str, wishes: dict[str, Any], words: str
) -> None:
    """Not one for every student, minutes later."""
    brought(browser, tuesday, "Anna.wav", b"x")
    asked = {"passage": PASSAGE, "speed": 1.0} | wishes
    assert words in refused(browser.post(f"/api/class/{tuesday}/hear", json=asked))
    assert browser.get(f"/api/class/{tuesday}/hear").json()["hearing"] is None


def test_a_class_with_nobody_in_it_is_not_heard(browser: TestClient, tuesday: str) -> None:
    """And has nothing to take away yet."""
    answer = browser.post(f"/api/class/{tuesday}/hear", json={"passage": PASSAGE})
    assert "bring a folder or files first" in refused(answer)
    assert "hear it first" in refused(browser.get(f"/api/class/{tuesday}/zip"))


@pytest.fixture
def hearings() -> Iterator[Hearings]:
    """Give hearings that end with the test."""
    begun = Hearings()
    yield begun
    begun.close()


def until_stopped(progress: Progress) -> None:
    """Go on until somebody says stop, but not for ever."""
    end_s = time.monotonic() + 300
    while time.monotonic() < end_s:
        progress(1, 3, "listening")
        time.sleep(0.001)


def test_a_class_that_is_heard_is_left_alone_by_a_second_page_and_can_be_stopped(
    browser: TestClient, desk: Desk, tuesday: str
) -> None:
    """Nothing is brought, left out, taken away or begun twice meanwhile; both pages see how far."""
    brought(browser, tuesday, "Anna.wav", wav(0))
    desk.classroom.hearings.begin(tuesday, 3, until_stopped)
    way = f"/api/class/{tuesday}"
    for answer in (
        browser.post(f"{way}/hear", json={"passage": PASSAGE}),
        browser.post(f"{way}/away", json={}),
        browser.post(f"{way}/leave-out", json={"recording": "x"}),
        brought(browser, tuesday, "Bela.wav", b"x"),
    ):
        assert "is being heard just now" in refused(answer)
    assert browser.get(f"{way}/hear").json()["hearing"]["total"] == 3
    posted(browser, f"{way}/stop")
    desk.classroom.hearings.wait()
    assert browser.get(f"{way}/hear").json()["hearing"]["state"] == "stopped"
    assert brought(browser, tuesday, "Bela.wav", b"x").status_code == 200


def test_one_class_is_heard_after_the_other(hearings: Hearings) -> None:
    """Each has all cores; the second waits, and can be stopped while it waits."""
    hearings.begin("one", 3, until_stopped)
    assert hearings.begin("two", 3, until_stopped)["state"] == "waits"
    hearings.stop("two")
    hearings.stop("one")
    hearings.wait()
    assert [(hearings.told(each) or {})["state"] for each in ("one", "two")] == ["stopped"] * 2
    assert hearings.stop("three") is None


def test_a_failure_is_a_sentence_and_a_fault_is_no_endless_waiting(hearings: Hearings) -> None:
    """A full disk is said; whatever else, the class can be heard again."""

    def full(_progress: Progress) -> None:
        raise FileError("the disk is full: make room")

    def wrong(_progress: Progress) -> None:
        raise ZeroDivisionError

    hearings.begin("one", 1, full)
    hearings.wait()
    assert (hearings.told("one") or {})["sentence"] == "the disk is full: make room"
    hearings.begin("one", 1, wrong)
    with pytest.raises(ZeroDivisionError):
        hearings.wait()
    assert (hearings.told("one") or {})["state"] == "failed"
    hearings.check_free("one")


def test_a_class_is_taken_away_with_all_that_belongs_to_it(
    browser: TestClient, desk: Desk, tuesday: str
) -> None:
    """Names and voices go when the teacher says so; what a killed program left goes too."""
    brought(browser, tuesday, "Anna.wav", b"x")
    top = desk.sitting.folders.passages.parent / "classes"
    posted(browser, f"/api/class/{tuesday}/away")
    assert list(top.iterdir()) == []
    assert browser.get("/api/classes").json()["classes"] == []
    assert "no class" in refused(browser.get(f"/api/class/{tuesday}"))
    (top / ".gone-half").mkdir()
    with Desk():
        assert list(top.iterdir()) == []


@pytest.mark.parametrize("name", ["..", "..%2F..", "nobody", "%00"])
def test_no_class_leads_out_of_the_folder(browser: TestClient, name: str) -> None:
    """Only what was made is there."""
    assert browser.get(f"/api/class/{name}/zip").status_code in (404, 422)


def test_nobody_else_learns_of_a_class(stranger: TestClient, told: dict[str, Any]) -> None:
    """Without the key, from another origin, under another name: nothing, names least of all."""
    way = f"/api/class/{told['class']}"
    evil = {"origin": "http://evil.example"}
    for path in ("/api/classes", way, f"{way}/page/class.html", f"{way}/zip"):
        assert stranger.get(path, headers=evil).status_code == 403
        assert stranger.get(path, headers={"host": "evil.example"}).status_code == 403
        assert stranger.get(path, headers={"cookie": "rhythmtrain-key=guessed"}).status_code == 403
    asked = {"called": "Anna.wav"}
    assert (
        stranger.post(f"{way}/bring", params=asked, content=b"x", headers=evil).status_code == 403
    )
