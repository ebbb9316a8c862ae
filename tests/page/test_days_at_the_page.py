"""Over the days, at the page."""

from typing import Any

import numpy as np
from starlette.testclient import TestClient

from rhythmtrain.page.desk import Desk

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


def test_a_kept_take_is_judged_by_todays_rules(browser: TestClient) -> None:
    """Whoever has an old take hears whether anything would be said otherwise today."""
    clapped(browser)
    (take,) = browser.get("/api/takes").json()["takes"]
    told = browser.post(f"/api/kept/{take['id']}/again").json()
    assert "as it was told then" in told["text"]


def test_takes_go_elsewhere_and_come_back(browser: TestClient) -> None:
    """A new laptop: the file of the old one brings every take back, and none twice."""
    clapped(browser)
    saved = browser.get("/api/takes/file")
    assert "takes.jsonl" in saved.headers["content-disposition"]
    (take,) = browser.get("/api/takes").json()["takes"]
    browser.post(f"/api/kept/{take['id']}/delete")
    assert not browser.get("/api/takes").json()["takes"]
    for _ in range(2):
        back = browser.post(
            "/api/takes/file", params={"file": "takes.jsonl"}, content=saved.content
        )
        assert back.status_code == 200
        assert len(browser.get("/api/takes").json()["takes"]) == 1


def test_a_file_without_takes_is_refused_by_its_own_name(browser: TestClient, desk: Desk) -> None:
    """One sentence; nothing stays behind."""
    answer = browser.post("/api/takes/file", params={"file": "letter.txt"}, content=b"Dear Ada")
    assert answer.status_code == 422
    assert "letter.txt" in answer.json()["sentence"]
    assert str(desk.sitting.passing) not in answer.json()["sentence"]
