"""Over the days, at the page."""

from typing import Any

import numpy as np
from starlette.testclient import TestClient

RAG = "supplied:29-towpath-rag"


def clapped(browser: TestClient) -> None:
    """Clap four bars."""
    told: Any = browser.post("/api/track", json={"passage": RAG, "bars": "1-4"}).json()
    took = browser.post("/api/take", json={"track": told["track"], "source": "keys", "start_s": 0})
    way = f"/api/take/{took.json()['take']}"
    taps = [[note["time_s"], "Space", False, None] for note in told["notes"]]
    clock = [[at, at] for at in np.arange(0.5, 20.0, 0.5).tolist()]
    browser.post(f"{way}/on", json={"parts": [{"part": 0, "taps": taps, "clock": clock}]})
    assert browser.post(f"{way}/end", json={"stopped": False}).status_code == 200


def test_nobody_is_told_of_days_before_the_first_take(browser: TestClient) -> None:
    """An empty history is no error."""
    told = browser.get("/api/days").json()
    assert told["passages"] == []
    assert browser.get("/api/takes").json()["takes"] == []


def test_what_was_clapped_stands_among_the_days(browser: TestClient) -> None:
    """It comes again after a night, and one can go to it from here."""
    clapped(browser)
    told = browser.get("/api/days").json()
    (passage,) = told["passages"]
    assert passage["on_shelf"] == RAG
    assert [each["on_shelf"] for each in (*told["today"], *told["later"])] == [RAG]
    page = browser.get("/api/days/page")
    assert "Towpath Rag" in page.text
    assert "sandbox" in page.headers["content-security-policy"]


def test_a_take_is_shown_again_and_deleted(browser: TestClient) -> None:
    """The person's own takes are theirs."""
    clapped(browser)
    (take,) = browser.get("/api/takes").json()["takes"]
    number = take.get("number", take.get("id"))
    shown = browser.get(f"/api/kept/{number}").json()
    assert "Towpath Rag" in shown["text"]
    assert browser.post(f"/api/kept/{number}/delete", json={}).status_code == 200
    assert browser.get("/api/takes").json()["takes"] == []
    answer = browser.get(f"/api/kept/{number}")
    assert answer.status_code == 422
