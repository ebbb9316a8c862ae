"""A session led at the page: step after step, each chosen from what was heard."""

from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from rhythmtrain.rehearsal.desk import session
from tests.page.asking import posted

RAG = "supplied:29-towpath-rag"


def step(
    browser: TestClient, name: str, *, wrong: bool = False, beat: bool = False
) -> dict[str, Any]:
    """Do the step that comes; return what came of it.

    It is done rightly, or with every third note left out, or the beat is clapped.
    """
    track = posted(browser, f"/api/session/{name}/track")
    if not track["judged"]:
        return posted(browser, f"/api/session/{name}/end")
    took = posted(browser, "/api/take", track=track["track"], source="keys", start_s=0.0)
    rng = np.random.default_rng(6)
    yours = [note["time_s"] for note in track["notes"] if note["yours"]]
    played = [at for number, at in enumerate(yours) if not (wrong and number % 3 == 1)]
    if beat:
        bars = [each for each in track["bars"] if each["role"] in ("answer", "passage")]
        played = [each["time_s"] for bar in bars for each in bar["beats"]]
    taps = [[at + float(rng.normal(0, 0.01)), "Space", False, None] for at in played]
    clock = [[at, at] for at in np.arange(0.5, track["duration_s"] + 1, 0.5).tolist()]
    posted(
        browser, f"/api/take/{took['take']}/on", parts=[{"part": 0, "taps": taps, "clock": clock}]
    )
    return posted(browser, f"/api/session/{name}/end", take=took["take"], stopped=False)


def test_a_session_goes_from_listening_to_a_faster_tempo(browser: TestClient) -> None:
    """Whoever does all of it right hears it, echoes it, claps it with less and less help, faster."""
    told = posted(browser, "/api/session", passage=RAG, bars="1-2")
    session = told["session"]
    assert told["coming"]["title"].startswith("Listen")
    assert not told["coming"]["judged"]
    seen: list[tuple[str, str]] = []
    while told["coming"] is not None and len(seen) < 12:
        seen.append((told["coming"]["title"], told["coming"]["pace"]))
        told = step(browser, session)
    assert len({title for title, _ in seen}) >= 4


def test_a_step_that_failed_goes_back_to_what_failed(browser: TestClient) -> None:
    """And says why in a sentence."""
    begun = posted(browser, "/api/session", passage=RAG, bars="1-4")
    session = begun["session"]
    told = step(browser, session)
    while not told["coming"]["judged"]:
        told = step(browser, session)
    before = told["coming"]
    told = step(browser, session, wrong=True)
    assert not told["right"]
    assert told["coming"] != before
    assert told["coming"]["why"]
    kept = browser.get("/api/takes").json()["takes"]
    assert kept[0]["help"]


def test_the_beat_clapped_in_place_of_the_rhythm_is_told_and_spoils_nothing(
    browser: TestClient,
) -> None:
    """The step is not done, what to do is said, and no take of it stands in the history."""
    begun = posted(browser, "/api/session", passage=RAG, bars="1-4")
    session = begun["session"]
    told = step(browser, session)
    while not told["coming"]["judged"]:
        told = step(browser, session)
    told = step(browser, session, beat=True)
    assert not told["right"]
    assert told["said"][0].startswith("You clapped the beat, not the rhythm.")
    assert told["coming"] is not None
    assert browser.get("/api/takes").json()["takes"] == []


def test_what_was_done_counts_in_the_next_session(browser: TestClient) -> None:
    """The next one does not begin from nothing."""
    first = posted(browser, "/api/session", passage=RAG)
    session = first["session"]
    told = step(browser, session)
    for _ in range(4):
        told = step(browser, session)
    second = posted(browser, "/api/session", passage=RAG)
    step(browser, second["session"])
    assert told["coming"] is not None


def test_a_session_ends_with_the_step_in_which_its_minutes_are_over(
    browser: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Nobody is cut short, and the next session goes on from there."""
    now = [1000.0]
    monkeypatch.setattr(session, "monotonic", lambda: now[0])
    begun = posted(browser, "/api/session", passage=RAG, bars="1-2", minutes=5, order="alternating")
    way = f"/api/session/{begun['session']}"
    now[0] += 299
    assert step(browser, begun["session"])["coming"] is not None
    now[0] += 2
    told = step(browser, begun["session"])
    assert told["went"]
    assert (told["coming"], told["over"]) == (None, "The 5 minutes are over.")
    assert "this session is over" in browser.post(f"{way}/track", json={}).json()["sentence"]


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"passage": RAG, "instrument": "lawnmower"}, "lawnmower"),
        ({"passage": "own:none.toml"}, "no passage"),
        ({"passage": RAG, "minutes": 0}, "minutes must be 1 to 120"),
        ({"passage": RAG, "order": "loudest"}, "order must be"),
    ],
)
def test_what_makes_no_sense_is_said(
    browser: TestClient, values: dict[str, Any], words: str
) -> None:
    """One sentence each."""
    answer = browser.post("/api/session", json=values)
    assert words in answer.json()["sentence"]
