"""Files that are taken away, rhythms that are clapped in, what is set once."""

import io
import zipfile
from typing import Any

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from rhythmtrain.storage.settings import preferences
from tests.page.asking import posted

RAG = "supplied:29-towpath-rag"
ENTRY = "supplied:28-towpath-entry"
PLAYED = "supplied:10-off-beats"
RESTING = "supplied:12-counting-rests"


@pytest.mark.parametrize(
    ("what", "begins"),
    [
        ("sheet.pdf", b"%PDF"),
        ("sheet.html", b"<!doctype html>"),
        ("sheet.png", b"\x89PNG"),
        ("sheet.svg", b"<svg"),
        ("passage.musicxml", b"<?xml"),
        ("passage.mid", b"MThd"),
        ("passage.toml", b"title"),
    ],
)
def test_a_passage_is_taken_away_in_every_form(
    browser: TestClient, what: str, begins: bytes
) -> None:
    """For the music stand, for another program, for a friend."""
    answer = browser.get(f"/api/fetch/{what}", params={"passage": RAG, "bars": "1-2"})
    assert answer.status_code == 200, answer.text
    assert answer.content.startswith(begins)
    assert "towpath-rag" in answer.headers["content-disposition"]


def test_the_track_that_is_taken_away_is_as_fast_as_the_one_that_is_heard(
    browser: TestClient,
) -> None:
    """The page's own wishes go into the file."""
    asked: dict[str, Any] = {
        "passage": RAG,
        "bars": "1-2",
        "speed": 0.5,
        "repeats": 2,
        "count_in": 1,
    }
    told = posted(browser, "/api/track", **asked)
    answer = browser.get("/api/fetch/track.flac", params=asked)
    sound, rate = soundfile.read(io.BytesIO(answer.content))
    assert len(sound) / rate == pytest.approx(told["duration_s"], abs=0.5)


def test_a_sheet_is_drawn_as_the_reader_wants_it(browser: TestClient) -> None:
    """With pitches, with long rests counted out, in crotchets: each is another sheet."""
    posted(browser, "/api/settings", british=True)
    for passage, look in ((ENTRY, "pitches"), (RESTING, "count_rests")):
        sheets = [
            browser.get("/api/fetch/sheet.html", params={"passage": passage, look: wanted}).text
            for wanted in ("false", "true")
        ]
        assert sheets[0] != sheets[1]
        assert all("crotchet" in sheet for sheet in sheets)


def test_the_track_that_is_taken_away_has_what_is_heard_and_no_more(browser: TestClient) -> None:
    """Who has switched the clapped rhythm off does not find it in the file; MIDI for a keyboard."""
    asked: dict[str, str | float] = {"passage": RAG, "bars": "1-2", "speed": 0.6, "layers": "click"}
    clicks = browser.get("/api/fetch/track.mid", params=asked).content
    everything = browser.get("/api/fetch/track.mid", params={**asked, "layers": ""}).content
    assert clicks[:4] == everything[:4] == b"MThd"
    assert len(clicks) < len(everything)
    answer = browser.get("/api/fetch/track.mid", params={**asked, "layers": "kazoo"})
    assert "kazoo" in answer.json()["sentence"]


def test_a_course_for_an_entry_is_taken_away_whole(browser: TestClient) -> None:
    """A teacher hands a folder out: tracks, answers, the page that plays them."""
    answer = browser.get("/api/fetch/entry.zip", params={"passage": ENTRY})
    assert answer.status_code == 200, answer.text
    names = zipfile.ZipFile(io.BytesIO(answer.content)).namelist()
    assert "index.html" in names
    assert sum(name.endswith(".mp3") for name in names) >= 10


@pytest.mark.parametrize("what", ["../../etc/passwd", "secret.toml", "track.exe"])
def test_nothing_else_is_taken_away(browser: TestClient, what: str) -> None:
    """Only what the page offers."""
    answer = browser.get(f"/api/fetch/{what}", params={"passage": RAG})
    assert answer.status_code in (404, 422)


def test_a_rhythm_that_is_clapped_is_written_down(browser: TestClient) -> None:
    """Nobody has to know the spelling: it is clapped, and can be changed and kept."""
    beats = [0, 0.5, 1, 2, 3, 3.5, 4, 5, 6, 6.5, 7]
    rng = np.random.default_rng(2)
    taps = [50 + beat * 60 / 80 + float(rng.normal(0, 0.012)) for beat in beats]
    told = posted(browser, "/api/passage/clapped", taps=taps, metre="4/4", tempo=80)
    assert "1 & 2 3 4 & | 1 2 3 & 4" in told["text"]
    assert posted(browser, "/api/passage/write", text=told["text"])["name"].startswith("own:")
    answer = browser.post("/api/passage/clapped", json={"taps": [], "metre": "4/4"})
    assert "nothing was clapped" in answer.json()["sentence"]
    answer = browser.post("/api/passage/clapped", json={"taps": taps})
    assert "metre" in answer.json()["sentence"]


def test_a_rhythm_in_a_recording_is_written_down(browser: TestClient) -> None:
    """A teacher's voice memo becomes a drill."""
    asked = {"passage": "supplied:10-off-beats", "speed": 1, "count_in": 0}
    track = posted(browser, "/api/track", **asked)
    sound = browser.get(f"/api/track/{track['track']}/clap").content
    answer = browser.post(
        "/api/passage/heard", params={"file": "memo.flac", "metre": "4/4"}, content=sound
    )
    assert answer.status_code == 200, answer.text
    assert "rhythm" in answer.json()["text"]


def test_a_rhythm_played_on_a_keyboard_is_written_down(browser: TestClient) -> None:
    """A MIDI file holds what was played as well as a recording does; how often it comes is said."""
    asked: dict[str, str | int] = {"passage": PLAYED, "count_in": 0, "layers": "clap"}
    played = browser.get("/api/fetch/track.mid", params=asked).content
    wish: dict[str, str | int] = {"file": "played.mid", "metre": "2/4", "tempo": 72, "times": 1}
    answer = browser.post("/api/passage/heard", params=wish, content=played)
    assert answer.status_code == 200, answer.text
    assert "rhythm" in answer.json()["text"]
    answer = browser.post("/api/passage/heard", params={**wish, "times": 99}, content=played)
    assert answer.json()["sentence"].startswith("how often it comes must be 1 to")
    answer = browser.post("/api/passage/heard", params={**wish, "file": "a.jpg"}, content=b"x")
    assert "a.jpg is no recording" in answer.json()["sentence"]


def test_what_is_set_stays_set(browser: TestClient) -> None:
    """The language of the count, once for all."""
    told = browser.get("/api/settings").json()
    assert told["language"] == "en"
    told = posted(browser, "/api/settings", language="de", british=True)
    assert (told["language"], told["british"]) == ("de", True)
    assert preferences().language == "de"
    shown = browser.get("/api/passage", params={"passage": RAG}).json()
    assert "crotchet" in "".join(shown["systems"])
    english = posted(browser, "/api/track", passage=RAG, bars="1-1", language="en")
    german = posted(browser, "/api/track", passage=RAG, bars="1-1")
    said = [browser.get(f"/api/track/{each['track']}/count").content for each in (english, german)]
    assert said[0] != said[1]
    answer = browser.post("/api/settings", json={"language": "klingon"})
    assert "there is no count" in answer.json()["sentence"]


def test_a_sound_delay_that_was_tapped_is_taken_off_what_is_clapped(browser: TestClient) -> None:
    """Headphones without a cable are late by 180 ms: claps made to their sound are not."""
    track = posted(browser, "/api/delay/track")
    took = posted(browser, "/api/take", track=track["track"], source="keys", start_s=0.0)
    beats = [beat["time_s"] for bar in track["bars"] for beat in bar["beats"]]
    rng = np.random.default_rng(4)
    taps = [[at + 0.18 + float(rng.normal(0, 0.01)), "Space", False, None] for at in beats]
    clock = [[at, at] for at in np.arange(0.5, 20.0, 0.5).tolist()]
    posted(
        browser, f"/api/take/{took['take']}/on", parts=[{"part": 0, "taps": taps, "clock": clock}]
    )
    told = posted(browser, "/api/delay/end", take=took["take"])
    assert told["delay_ms"] == pytest.approx(180, abs=8)
    assert "give or take" in told["text"]
    keys = next(
        each for each in browser.get("/api/settings").json()["delays"] if each["source"] == "keys"
    )
    assert keys["known"]
    track = posted(browser, "/api/track", passage=RAG, bars="1-2", speed=0.6)
    took = posted(browser, "/api/take", track=track["track"], source="keys", start_s=0.0)
    taps = [[note["time_s"] + 0.18, "Space", False, None] for note in track["notes"]]
    posted(
        browser, f"/api/take/{took['take']}/on", parts=[{"part": 0, "taps": taps, "clock": clock}]
    )
    answer = posted(browser, f"/api/take/{took['take']}/end", stopped=False)
    assert answer["document"]["offset_ms"]["median"] == pytest.approx(0, abs=8)
