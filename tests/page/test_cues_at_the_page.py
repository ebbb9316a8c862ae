"""What is played before an entry, as one wishes to hear it: how much, whose notes, as a file to keep."""

import io
from pathlib import Path
from typing import Any

import mido
import pytest
import soundfile
from starlette.testclient import TestClient

from rhythmtrain.cli.main import run
from rhythmtrain.page.desk import Desk

ENTRY: dict[str, Any] = {"passage": "supplied:28-towpath-entry", "bar": 11}
MINE = """title = "Mill road"
metre = "2/4"
tempo = 60
rhythm = "1 2 | rest 4 | (1) 2 | 1 (2)"
"""


@pytest.fixture
def mine(browser: TestClient) -> dict[str, Any]:
    """Keep a passage of which nothing is known but one's own part; return how its cue is asked for."""
    kept = browser.post("/api/passage/write", json={"text": MINE}).json()
    return {"passage": kept["name"], "bar": 6}


def piano(bars: int) -> bytes:
    """Return a MIDI file: the tune's eighths above, a bass on every first beat."""
    hands = [mido.MidiTrack(), mido.MidiTrack()]
    hands[0].append(mido.MetaMessage("time_signature", numerator=2, denominator=4, time=0))
    for track, notes, ticks in ((hands[0], (72, 74, 76, 77), 240), (hands[1], (48,), 960)):
        for _ in range(bars):
            for note in notes:
                track.append(mido.Message("note_on", note=note, velocity=80, time=0))
                track.append(mido.Message("note_off", note=note, velocity=0, time=ticks))
    file = mido.MidiFile(type=1, ticks_per_beat=480, tracks=hands)
    data = io.BytesIO()
    file.save(file=data)
    return data.getvalue()


def notes(browser: TestClient, passage: str, file: str, data: bytes) -> Any:
    """Return the answer to notes that are brought for a passage."""
    asked = {"passage": passage, "file": file}
    return browser.post("/api/passage/notes", params=asked, content=data)


def test_how_much_of_it_is_heard_is_chosen(browser: TestClient) -> None:
    """Who knows the figure wants one bar of it, six times."""
    usual = browser.get("/api/cue", params=ENTRY).json()
    one = browser.get("/api/cue", params={**ENTRY, "bars_before": 1}).json()
    assert len(one["text"].splitlines()) < len(usual["text"].splitlines())

    def seconds(**more: Any) -> float:
        sound = browser.get("/api/cue/sound", params={**ENTRY, **more}).content
        return float(soundfile.info(io.BytesIO(sound)).duration)

    assert seconds(repeats=6) == pytest.approx(1.5 * seconds(repeats=4), rel=0.1)
    assert seconds(bars_before=1) < 0.8 * seconds(bars_before=2)
    refused = browser.get("/api/cue", params={**ENTRY, "bars_before": 3})
    assert "1 or 2" in refused.json()["sentence"]


def test_the_sound_is_taken_away_as_the_command_line_writes_it(
    browser: TestClient, tmp_path: Path
) -> None:
    """To have it on the phone, or in a notation program."""
    asked = {**ENTRY, "speed": 0.8, "repeats": 2}
    saved = browser.get("/api/cue/file/cue.mid", params=asked)
    assert 'filename="towpath-rag-the-entry-bar-11-cue.mid"' in saved.headers["content-disposition"]
    file = tmp_path / "cue.mid"
    options = ["--entry", "11", "--speed", "0.8", "--repeats", "2", "-o", str(file)]
    assert run(["cue", "28-towpath-entry", *options]) == 0
    assert saved.content == file.read_bytes()
    sound = browser.get("/api/cue/file/cue.mp3", params=asked)
    assert sound.headers["content-type"] == "audio/mpeg"
    assert len(sound.content) > 20_000
    refused = browser.get("/api/cue/file/cue.exe", params=asked)
    assert "cue.mp3" in refused.json()["sentence"]


def test_notes_that_are_brought_tell_what_is_played_before_the_entry(
    browser: TestClient, mine: dict[str, Any]
) -> None:
    """Nothing was known; with the pianist's file either hand is, and it stays so."""
    unknown = browser.get("/api/cue", params=mine)
    assert "nothing is known" in unknown.json()["sentence"]
    kept = notes(browser, mine["passage"], "Our piano.mid", piano(7)).json()
    assert kept["name"] == mine["passage"]
    top = browser.get("/api/cue", params=mine).json()
    assert top["source"] == "notes"
    bass = browser.get("/api/cue", params={**mine, "voice": "lower"}).json()
    assert len(bass["text"].split("C3")) == 4
    assert "C5" in top["text"]
    assert "C5" not in bass["text"]
    text = browser.get("/api/passage/text", params={"passage": mine["passage"]}).json()["text"]
    assert 'notes = "recordings/our-piano-' in text
    refused = browser.get("/api/cue", params={**mine, "voice": "middle"})
    assert "top, lower, all" in refused.json()["sentence"]


def test_a_supplied_passage_becomes_ones_own_with_its_notes(browser: TestClient) -> None:
    """The supplied one stays; one's own says what the notes say, also where it has a cue line."""
    kept = notes(browser, ENTRY["passage"], "piano.mid", piano(14)).json()
    assert kept["name"].startswith("own:")
    own = browser.get("/api/cue", params={**ENTRY, "passage": kept["name"]}).json()
    assert own["source"] == "notes"
    assert browser.get("/api/cue", params=ENTRY).json()["source"] == "cue line"


@pytest.mark.parametrize(
    ("file", "data", "words"),
    [
        ("piano.pdf", b"x", "holds no notes"),
        ("piano.mid", b"MThd", "piano.mid"),
        ("piano.musicxml", b"<score", "piano.musicxml"),
    ],
)
def test_what_holds_no_notes_is_not_kept(
    browser: TestClient, desk: Desk, mine: dict[str, Any], file: str, data: bytes, words: str
) -> None:
    """A slip is told by the name of the file one brought, and nothing lies about."""
    before = browser.get("/api/passage/text", params={"passage": mine["passage"]}).json()
    answer = notes(browser, mine["passage"], file, data)
    assert answer.status_code == 422
    assert words in answer.json()["sentence"]
    assert not list(desk.sitting.folders.recordings.iterdir())
    assert browser.get("/api/passage/text", params={"passage": mine["passage"]}).json() == before
