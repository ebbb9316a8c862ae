"""The beats of a recording as a file: kept elsewhere, brought back, or tapped elsewhere."""

from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from rhythmtrain.page.desk import Desk
from rhythmtrain.storage.places import drills_folder

BEATS = drills_folder() / "sluice-gate-piano.beats"


@pytest.fixture
def way(browser: TestClient) -> str:
    """Bring the supplied recording as if it were one's own; return where it is asked for."""
    data = (drills_folder() / "sluice-gate-piano.ogg").read_bytes()
    answer = browser.post("/api/bring", params={"file": "Our pianist.ogg"}, content=data)
    return f"/api/recording/{answer.json()['name']}"


def brought(browser: TestClient, way: str, file: str, data: bytes, **more: Any) -> Any:
    """Return the answer to a file of beats that is brought."""
    return browser.post(f"{way}/beats/file", params={"file": file, **more}, content=data)


def test_beats_that_were_kept_elsewhere_come_back_as_they_were(
    browser: TestClient, way: str
) -> None:
    """A map is an hour's work: it goes to another machine, and back, byte for byte."""
    none = browser.get(f"{way}/beats/file")
    assert none.status_code == 422
    assert "no beats yet" in none.json()["sentence"]
    told = brought(browser, way, "piano.beats", BEATS.read_bytes()).json()
    assert told["beats"] == browser.get(f"{way}/beats").json()["beats"]
    assert len(told["beats"]) > 30
    saved = browser.get(f"{way}/beats/file")
    assert saved.content == BEATS.read_bytes()
    assert 'filename="our-pianist.beats"' in saved.headers["content-disposition"]
    used = browser.post(f"{way}/use", json={"passage": "supplied:32-sluice-gate-rag"}).json()
    assert browser.get("/api/passage", params={"passage": used["name"]}).json()["recorded"]


def test_taps_that_were_made_elsewhere_are_solved(browser: TestClient, way: str) -> None:
    """Somebody tapped along on a phone: the seconds are enough, with the bars they are of."""
    rows = [line.split("\t") for line in BEATS.read_text("utf-8").splitlines() if line[:1] != "#"]
    truth = {place: float(second) for second, place, *_ in rows}
    wanted = [f"{bar}.{beat}" for bar in range(10, 18) for beat in (1, 2)]
    rng = np.random.default_rng(3)
    taps = "\n".join(f"{truth[place] + float(rng.normal(0.03, 0.025)):.4f}" for place in wanted)
    told = brought(browser, way, "taps.txt", taps.encode(), bars="10-17", metre="2/4").json()
    away = [abs(each["time_s"] - truth[f"{each['bar']}.{each['beat']}"]) for each in told["beats"]]
    assert len(away) == len(wanted)
    assert np.median(away) < 0.02
    refused = brought(browser, way, "taps.txt", taps.encode())
    assert "which bars" in refused.json()["sentence"]


@pytest.mark.parametrize(
    ("file", "data", "words"),
    [
        ("piano.pdf", b"x", "holds no beats"),
        ("piano.beats", b"", "piano.beats is empty"),
        ("piano.beats", b"1.0\tone\n", "piano.beats"),
        ("piano.beats", b"1.0\t1.1\n9000.0\t1.2\n", "another recording"),
        ("taps.txt", b"soon\n", "taps.txt"),
    ],
)
def test_what_holds_no_beats_changes_nothing(
    browser: TestClient, desk: Desk, way: str, file: str, data: bytes, words: str
) -> None:
    """A slip is told by the name of the file one brought, and the beats that are known stay."""
    brought(browser, way, "good.beats", BEATS.read_bytes())
    answer = brought(browser, way, file, data, bars="1-2", metre="2/4")
    assert answer.status_code == 422
    assert words in answer.json()["sentence"]
    assert browser.get(f"{way}/beats/file").content == BEATS.read_bytes()
    assert not list(desk.sitting.passing.iterdir())
