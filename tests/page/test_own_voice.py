"""A person's own recorded words: brought in one by one, told, counted with, taken away."""

import io
from pathlib import Path
from typing import Any

import av
import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from starlette.testclient import TestClient

from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track
from tests.page.asking import posted

WALK = "01-steady-quarters"
RATE = 44_100
LAYERS = "clap,click,count,tune,cue"


def word(pitch: float, *, seconds: float = 0.3, gain: float = 0.2) -> bytes:
    """Return a sung syllable with silence around it, as the bytes of a WAV file."""
    at = np.arange(round(seconds * RATE)) / RATE
    sung = gain * np.sin(2 * np.pi * pitch * at) * np.minimum(1, at / 0.02)
    file = io.BytesIO()
    soundfile.write(file, np.pad(sung, RATE // 10), RATE, format="WAV")
    return file.getvalue()


def from_a_phone(pitch: float) -> bytes:
    """Return the same as a phone writes it: AAC in an M4A file."""
    sung, _ = soundfile.read(io.BytesIO(word(pitch)), dtype="float32")
    file = io.BytesIO()
    with av.open(file, "w", format="ipod") as container:
        stream = container.add_stream("aac", rate=RATE, layout="mono")
        frame = av.AudioFrame.from_ndarray(sung[np.newaxis], "fltp", "mono")
        frame.sample_rate = RATE
        container.mux([*stream.encode(frame), *stream.encode(None)])
    return file.getvalue()


def brought(browser: TestClient, file: str, data: bytes) -> Any:
    """Return the answer to a recorded word that is brought."""
    return browser.post("/api/voice/bring", params={"file": file}, content=data)


def own(told: dict[str, Any]) -> dict[str, str]:
    """Return the words that are the person's own, each with the name of its recording."""
    return {each["text"]: each["own"] for each in told["words"] if each["own"] is not None}


def test_own_words_are_told_apart_from_those_of_the_supplied_voice(browser: TestClient) -> None:
    """She sees what is still to be recorded; a word that no table has is there for its landmark."""
    for file, data in (
        ("One.wav", word(220)),
        ("words/2.m4a", from_a_phone(247)),
        ("and.wav", word(262)),
        ("the bridge.wav", word(294)),
    ):
        assert brought(browser, file, data).status_code == 200
    told = browser.get("/api/voice").json()
    assert own(told) == {"one": "one", "two": "2", "and": "and"}
    assert told["others"] == ["the bridge"]
    assert "three" in {each["text"] for each in told["words"]}
    brought(browser, "ONE.flac", word(330))
    told = posted(browser, "/api/voice/away", word="and")
    assert own(told) == {"one": "one", "two": "2"}
    answer = browser.post("/api/voice/away", json={"word": "../1"})
    assert "not among yours" in answer.json()["sentence"]


def test_a_track_is_counted_as_the_command_counts_with_the_same_folder(
    browser: TestClient, tmp_path: Path
) -> None:
    """And with the supplied voice again as soon as she wishes."""
    folder = tmp_path / "mine"
    folder.mkdir()
    for name, pitch in (("one.wav", 220), ("3.wav", 330)):
        (folder / name).write_bytes(word(pitch))
    asked: dict[str, Any] = {"passage": f"supplied:{WALK}", "bars": "1-1"}

    def fetched() -> np.ndarray:
        answer = browser.get("/api/fetch/track.flac", params=asked)
        sound: np.ndarray = soundfile.read(io.BytesIO(answer.content), dtype="int16")[0]
        return sound

    def written(voice: Path | None) -> NDArray[np.int16]:
        file = tmp_path / "track.flac"
        make_track(TrackWish(WALK, bars="1-1", count_in=1, voice=voice, layers=LAYERS), file)
        sound: np.ndarray = soundfile.read(file, dtype="int16")[0]
        return sound

    supplied = fetched()
    for name in ("one.wav", "3.wav"):
        brought(browser, name, (folder / name).read_bytes())
    mine = fetched()
    assert np.array_equal(mine, written(folder))
    assert not np.array_equal(mine, supplied)
    told = posted(browser, "/api/track", **asked)
    counted = browser.get(f"/api/track/{told['track']}/count").content
    assert posted(browser, "/api/settings", own_voice=False)["own_voice"] is False
    assert np.array_equal(fetched(), supplied)
    told = posted(browser, "/api/track", **asked)
    assert browser.get(f"/api/track/{told['track']}/count").content != counted
    assert posted(browser, "/api/settings", language="de", own_voice=True)["language"] == "de"
    assert own(browser.get("/api/voice").json()) == {}
    assert browser.post("/api/track", json=asked).status_code == 200


@pytest.mark.parametrize(
    ("file", "data", "words"),
    [
        ("one.txt", b"one", "one.txt is no recorded word: bring one sound for each word"),
        (".wav", word(220), "is no recorded word"),
        ("", word(220), "is no recorded word"),
        ("one.wav", b"rubbish", "the spoken word one.wav cannot be read"),
        ("one.m4a", b"rubbish", "one.m4a is not a recording"),
        ("one.wav", word(220, gain=0.0), "no word can be heard in one.wav"),
        ("story.wav", word(220, seconds=6), "story.wav lasts more than 5 seconds"),
    ],
)
def test_what_is_no_word_is_refused_by_its_name_and_not_kept(
    browser: TestClient, desk: Desk, file: str, data: bytes, words: str
) -> None:
    """One sentence; the words that were there stay."""
    brought(browser, "one.wav", word(330))
    answer = brought(browser, file, data)
    assert answer.status_code == 422
    assert words in answer.json()["sentence"]
    assert str(desk.sitting.passing) not in answer.json()["sentence"]
    assert own(browser.get("/api/voice").json()) == {"one": "one"}
    assert not list(desk.sitting.passing.iterdir())


@pytest.mark.parametrize("file", ["../../one.wav", "C:\\words\\one.wav", "/etc/one.wav"])
def test_no_name_of_a_word_leads_out_of_its_folder(
    browser: TestClient, desk: Desk, file: str
) -> None:
    """It is the word that counts, not where it lay."""
    assert brought(browser, file, word(220)).json() == {"word": "one"}
    folder = desk.sitting.folders.passages.parent / "voice" / "en"
    assert [path.name for path in folder.iterdir()] == ["one.wav"]
