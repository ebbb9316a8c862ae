"""A take that was recorded elsewhere and brought to the page."""

import io
from typing import Any

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from rhythmtrain.page.desk import Desk
from rhythmtrain.storage.history.history import open_history
from tests.simulate.sounds import clap

RAG = "supplied:29-towpath-rag"
RATE = 44_100


def seconds_of(browser: TestClient, late: int | None = None) -> list[float]:
    """Return when the notes of bars 1 to 4 fall at six tenths of the tempo, one of them late."""
    told = browser.post("/api/track", json={"passage": RAG, "bars": "1-4", "speed": 0.6}).json()
    times = [note["time_s"] for note in told["notes"]]
    if late is not None:
        times[late] += 0.2
    return times


def brought(browser: TestClient, data: bytes, **values: Any) -> Any:
    """Return the answer to a take whose bytes are ``data``."""
    return browser.post(
        "/api/heard", params={"passage": RAG, "bars": "1-4", **values}, content=data
    )


def recorded(times: list[float]) -> bytes:
    """Return a WAV of claps at ``times``."""
    rng = np.random.default_rng(11)
    sound = rng.normal(0, 1e-4, round((times[-1] + 1.5) * RATE))
    for time in times:
        one = 0.4 * clap(rng, RATE)
        sound[round(time * RATE) : round(time * RATE) + len(one)] += one
    file = io.BytesIO()
    soundfile.write(file, sound, RATE, format="WAV")
    return file.getvalue()


def test_a_recording_of_oneself_is_heard_told_and_kept(browser: TestClient, desk: Desk) -> None:
    """The late note is named, can be heard, stands under its note, and the take is in the history."""
    answer = brought(browser, recorded(seconds_of(browser, late=8)), file="é me.wav", keep="true")
    assert answer.status_code == 200, answer.text
    told = answer.json()
    late = [note["bar"] for note in told["document"]["notes"] if note["verdict"] == "late"]
    assert late == told["worth_hearing"]
    assert len(late) == 1
    assert len(told["lane"]) == len(told["document"]["notes"])
    assert all(mark["quarters"] == 2.0 for mark in told["lane"])
    (bar,) = told["worth_hearing"]
    sound = browser.get(f"/api/heard/{told['heard']}/bar/{bar}")
    assert sound.headers["content-type"] == "audio/mpeg"
    assert "What was heard" in browser.get(f"/api/heard/{told['heard']}/report").text
    with open_history() as history:
        (take,) = history.takes()
    assert take.id == told["kept_as"]
    assert not list(desk.sitting.folders.takes.iterdir())


def test_a_recording_that_somebody_sent_is_not_kept_unless_wished(browser: TestClient) -> None:
    """A teacher who hears a student's file does not find it among her own takes."""
    text = "\n".join(f"{time:.4f}" for time in seconds_of(browser)).encode()
    told = brought(browser, text, file="taps.txt").json()
    assert told["kept_as"] is None
    assert {note["verdict"] for note in told["document"]["notes"]} == {"in time"}
    with open_history() as history:
        assert not list(history.takes())


@pytest.mark.parametrize(
    ("file", "data", "words"),
    [
        ("photo.jpg", b"x", "photo.jpg is no take"),
        ("take.wav", b"", "take.wav is empty"),
        ("take.m4a", b"no sound at all", "take.m4a is not a recording"),
        ("../../etc/take.wav", b"RIFF", "take.wav"),
    ],
)
def test_what_is_no_take_is_refused_by_its_own_name(
    browser: TestClient, desk: Desk, file: str, data: bytes, words: str
) -> None:
    """One sentence, with the name that the person knows; nothing stays behind."""
    answer = brought(browser, data, file=file)
    assert answer.status_code == 422
    sentence = answer.json()["sentence"]
    assert words in sentence
    assert str(desk.sitting.passing) not in sentence
    assert not list(desk.sitting.passing.glob("*.wav"))


def test_another_piece_is_not_kept_and_said_to_be_one(browser: TestClient) -> None:
    """Nobody is told of missed notes of a passage that was not played."""
    rng = np.random.default_rng(3)
    text = "\n".join(f"{time:.4f}" for time in np.cumsum(rng.uniform(0.2, 1.7, 30))).encode()
    told = brought(browser, text, file="other.txt", keep="true", speed=0.6).json()
    assert told["document"]["looks_like_the_passage"] is False
    assert told["kept_as"] is None
    assert told["lane"] == []
