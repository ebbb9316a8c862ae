"""Files that are brought to the page: kept as what they are, whatever place they were dropped on."""

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from rhythmtrain.page.desk import Desk

MINE = b'title = "My march"\nmetre = "2/4"\ntempo = 80\nrhythm = "1 & 2 & | 1 (2)"\n'


def brought(browser: TestClient, file: str, data: bytes) -> dict[str, str]:
    """Bring a file and return what became of it."""
    answer = browser.post("/api/bring", params={"file": file}, content=data)
    assert answer.status_code == 200, answer.text
    told: dict[str, str] = answer.json()
    return told


def test_a_score_is_practised_and_a_recording_is_mapped(browser: TestClient, desk: Desk) -> None:
    """Somebody drops what they have; the page knows where it belongs."""
    score = brought(browser, "My march.toml", MINE)
    assert score["place"] == "practise"
    assert browser.get("/api/passage", params={"passage": score["name"]}).status_code == 200
    file = desk.sitting.passing / "phone.wav"
    soundfile.write(file, np.random.default_rng(3).normal(0, 0.1, 22_050), 22_050)
    recording = brought(browser, "Phone memo.WAV", file.read_bytes())
    assert recording["place"] == "recording"
    (kept,) = browser.get("/api/recordings").json()["recordings"]
    assert kept == {"name": recording["name"], "title": "phone memo", "mapped": False}


@pytest.mark.parametrize("file", ["holiday.jpg", "notes", "march.pdf"])
def test_what_is_neither_is_refused_with_what_can_be_brought(
    browser: TestClient, desk: Desk, file: str
) -> None:
    """Nothing is kept, and the sentence names a score and a recording."""
    answer = browser.post("/api/bring", params={"file": file}, content=b"x")
    assert answer.status_code == 422
    assert "MusicXML" in answer.json()["sentence"]
    assert "recording" in answer.json()["sentence"]
    assert [each.name for each in desk.sitting.folders.passages.iterdir()] == ["recordings"]


def test_a_recording_that_was_brought_is_written_down(browser: TestClient, desk: Desk) -> None:
    """The phone's memo of a rhythm becomes notes without being looked for a second time."""
    kept = browser.post("/api/passage/write", json={"text": MINE.decode()}).json()["name"]
    asked = {"passage": kept, "count_in": 0, "repeats": 2}
    track = browser.post("/api/track", json=asked).json()["track"]
    sound = browser.get(f"/api/track/{track}/clap").content
    name = brought(browser, "memo.flac", sound)["name"]
    answer = browser.post("/api/passage/heard", json={"recording": name, "metre": "2/4"})
    assert answer.status_code == 200, answer.text
    assert 'title = "memo"' in answer.json()["text"]
    assert "rhythm" in answer.json()["text"]
    assert not list(desk.sitting.folders.recordings.glob("*.toml"))
