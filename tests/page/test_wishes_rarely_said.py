"""What few people have to say at the page, and what it does: as on the command line."""

import io
import zipfile
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from rhythmtrain.cli.main import run
from rhythmtrain.coach.settings import Settings
from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.check_wishes import check_wish_of
from rhythmtrain.rehearsal.desk.classes.wishes import wishes_said
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.practising.settings import practice_settings, told_numbers
from rhythmtrain.storage.settings import practice_numbers, preferences
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.page.asking import posted

RAG = "supplied:29-towpath-rag"
SEVERAL = ["supplied:02-quarters-and-rests", "supplied:01-steady-quarters"]


def brought(browser: TestClient, played: float, **wishes: Any) -> Any:
    """Return the answer to a take of the rag that was ``played`` so fast, as its seconds."""
    timeline = lay_out(find_passage("29-towpath-rag", "1-4"), Practice(speed=played))
    times = "\n".join(f"{float(timeline.track_seconds(note.at)):.4f}" for note in timeline.notes)
    asked = {"file": "take.txt", "passage": RAG, "bars": "1-4", **wishes}
    return browser.post("/api/heard", params=asked, content=times.encode())


def test_how_fast_a_take_was_is_said_in_beats_a_minute(browser: TestClient) -> None:
    """Who practised with a click at 36 says so: then all of it being slower is a finding."""
    at_it = brought(browser, 0.5, tempo=36).json()["document"]
    assert at_it["speed"] == pytest.approx(0.5)
    assert {note["verdict"] for note in at_it["notes"]} == {"in time"}
    slower = brought(browser, 0.5, tempo=40).json()["document"]
    assert slower["speed"] == pytest.approx(40 / 72)
    assert {note["verdict"] for note in slower["notes"]} != {"in time"}
    both = brought(browser, 0.5, tempo=36, speed=0.5)
    assert "not both" in both.json()["sentence"]


@pytest.mark.parametrize("ending", ["pdf", "html"])
def test_several_passages_are_put_on_one_sheet(
    browser: TestClient, tmp_path: Path, ending: str
) -> None:
    """Next week's exercises on one piece of paper, in the order in which they were ticked."""
    told = posted(browser, "/api/sheet", passages=SEVERAL, ending=ending, count_rests=True)
    assert told["titles"] == ["Stepping Stones", "Morning Walk"]
    sheet = browser.get(f"/api/pack/{told['pack']}")
    assert f'filename="2-passages-sheet.{ending}"' in sheet.headers["content-disposition"]
    if ending == "pdf":
        assert sheet.content.startswith(b"%PDF")
        return
    file = tmp_path / "sheet.html"
    names = [each.partition(":")[2] for each in SEVERAL]
    assert run(["sheet", *names, "--count-rests", "-o", str(file)]) == 0
    assert sheet.text == file.read_text("utf-8")


def test_a_sheet_as_pictures_has_one_a_page_in_one_file(browser: TestClient) -> None:
    """Three passages on two pages are two drawings: a browser brings one file."""
    many = [each["name"] for each in browser.get("/api/shelf").json()["supplied"][:12]]
    told = posted(browser, "/api/sheet", passages=many, ending="svg")
    sheet = browser.get(f"/api/pack/{told['pack']}")
    assert 'filename="12-passages-sheet.zip"' in sheet.headers["content-disposition"]
    with zipfile.ZipFile(io.BytesIO(sheet.content)) as file:
        names = file.namelist()
        assert names == [f"page-{number}.svg" for number in range(1, len(names) + 1)]
        assert len(names) > 1
        assert all(b"<svg" in file.read(name) for name in names)


def test_a_sheet_of_nothing_is_refused(browser: TestClient) -> None:
    """Slips are told in a sentence, by the title that one knows."""
    assert "at least one" in refusal(browser, passages=[])
    assert "pdf, html, png, svg" in refusal(browser, passages=SEVERAL, ending="exe")
    text = 'title = "Torn"\nmetre = "2/4"\ntempo = 60\nrhythm = "1 2"\n'
    own = posted(browser, "/api/passage/write", text=text)["name"]
    posted(browser, "/api/passage/away", name=own)
    assert "any more" in refusal(browser, passages=[own])


def refusal(browser: TestClient, **wishes: Any) -> str:
    """Return what is said of a sheet that cannot be made."""
    answer = browser.post("/api/sheet", json=wishes)
    assert answer.status_code == 422
    return str(answer.json()["sentence"])


def test_a_passage_that_does_not_read_is_named_by_its_title(
    browser: TestClient, desk: Desk
) -> None:
    """Not by a file's name that nobody has ever seen."""
    file = desk.sitting.folders.passages / "torn-1a2b3c.toml"
    file.write_text('title = "Torn"\nmetre = "2/4"\ntempo = 60\nrhythm = "1 3"\n', "utf-8")
    said = refusal(browser, passages=["own:torn-1a2b3c.toml"])
    assert "Torn" in said
    assert "1a2b3c" not in said


def test_all_takes_are_judged_again_at_once(browser: TestClient) -> None:
    """After a new version: what changed is said of all of them."""
    assert brought(browser, 0.5, keep=True).json()["kept_as"] == 1
    assert brought(browser, 0.6, keep=True).json()["kept_as"] == 2
    told = posted(browser, "/api/takes/again")
    assert told["text"].startswith("Two takes judged by today's rules")
    assert "--" not in told["text"]


def test_the_numbers_of_a_session_are_told(browser: TestClient) -> None:
    """Whoever asks why is told what each number rests on, as the command tells it."""
    told = browser.get("/api/numbers").json()["numbers"]
    document = told_numbers().document["numbers"]
    shown = {
        each["name"]: {key: each[key] for key in ("value", "meaning", "ground")} for each in told
    }
    assert shown == document
    assert {each["name"] for each in told if each["whole"]} >= {"rungs", "runs"}


def test_a_number_is_set_and_holds_for_what_follows(browser: TestClient) -> None:
    """Who learns slower than most says so once; what is usual is not written down."""
    posted(browser, "/api/settings", language="de")
    told = posted(browser, "/api/numbers", number="slow", value=0.5)["numbers"]
    assert practice_settings() == Settings(slow=0.5)
    assert {each["name"]: (each["value"], each["usual"]) for each in told}["slow"] == (0.5, 0.6)
    posted(browser, "/api/numbers", number="order", value="mix")
    posted(browser, "/api/numbers", number="slow", value=0.6)
    assert practice_numbers() == {"order": "mix"}
    assert preferences().language == "de"
    posted(browser, "/api/numbers", usual=True)
    assert practice_numbers() == {}


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"number": "slow", "value": 7}, "slow must be 0.1 to 1, got 7"),
        ({"number": "rungs", "value": 2.5}, "whole number"),
        ({"number": "slow", "value": "fast"}, "must be a number"),
        ({"number": "order", "value": "backwards"}, "gradual, alternating, mix"),
        ({"number": "slwo", "value": 1}, "did you mean slow?"),
        ({"number": "slow"}, "Give a value"),
    ],
)
def test_a_number_that_cannot_be_is_refused_and_nothing_changes(
    browser: TestClient, wish: dict[str, Any], words: str
) -> None:
    """A slip of the finger costs nobody their numbers."""
    posted(browser, "/api/numbers", number="runs", value=3)
    answer = browser.post("/api/numbers", json=wish)
    assert answer.status_code == 422
    assert words in answer.json()["sentence"]
    assert practice_numbers() == {"runs": 3}


def test_numbers_that_were_spoilt_by_hand_are_set_right_at_the_page(
    browser: TestClient, desk: Desk
) -> None:
    """The sentence says which; one button helps, without a text editor."""
    file = desk.sitting.folders.passages.parent.parent / "settings.json"
    file.write_text('{"language": "fr", "practice": {"slow": 9}}', encoding="utf-8")
    assert "slow must be" in browser.get("/api/numbers").json()["sentence"]
    assert posted(browser, "/api/numbers", usual=True)["numbers"]
    assert preferences().language == "fr"


def test_a_class_heard_bars_of_the_recording_before_each_repeat(desk: Desk) -> None:
    """Said once, it stands there the next time, and every student is heard so."""
    asked = Asked({
        "passage": "supplied:32-sluice-gate-rag", "timing": "recording", "lead_in": 1, "repeats": 2,
    })  # fmt: skip
    assert wishes_said(asked)["lead_in"] == 1
    assert check_wish_of(desk.sitting, asked).lead_in == 1


def test_a_rhythm_in_changing_metres_with_an_upbeat_is_written_down(browser: TestClient) -> None:
    """An upbeat, two beats, three beats: said bar by bar it is written as it was meant."""
    taps = [0.5 + 0.75 * beat for beat in (1, 2, 3, 4, 5, 6, 7, 8)]
    told = posted(
        browser, "/api/passage/clapped", taps=taps, metre="2/4 3/4 2/4", first="2", tempo=80
    )
    assert "metre 3/4" in told["text"]
    assert "2 | " in told["text"]
    compound = posted(
        browser, "/api/passage/clapped", taps=taps, metre="6/8", beat="eighth", tempo=80
    )
    assert 'beat = "eighth"' in compound["text"]
    refused = browser.post("/api/passage/clapped", json={"taps": taps, "metre": "2/4", "kind": "x"})
    assert "claps, voice" in refused.json()["sentence"]
    amiss = browser.post("/api/passage/clapped", json={"taps": taps, "metre": "2/4", "first": "9"})
    assert amiss.status_code == 422
    assert "--" not in amiss.json()["sentence"]
