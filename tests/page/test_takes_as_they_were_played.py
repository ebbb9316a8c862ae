"""A take that is brought is heard as it was played: what was followed, where it begins, how often."""

from pathlib import Path
from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from rhythmtrain.rehearsal.checking.beside_recording import beside_recording
from rhythmtrain.rehearsal.checking.check import CheckWish, check_file
from rhythmtrain.rehearsal.passages.passages import practice_of, whole_passage, wished_passage
from rhythmtrain.timing.timeline import lay_out

RECORDED = "32-sluice-gate-rag"
RAG = "29-towpath-rag"


def played(wish: CheckWish) -> list[float]:
    """Return when a steady player's notes fall, in seconds from bar 1."""
    passage = wished_passage(wish)
    timeline = lay_out(passage, practice_of(wish, passage))
    if wish.timing == "recording":
        whole = whole_passage(wish.passage)
        timeline = beside_recording(wish, wish.beside, passage, whole, start_s=None).timeline
    rng = np.random.default_rng(8)
    times = [float(timeline.track_seconds(note.at)) for note in timeline.notes if note.expected]
    return [time + float(rng.normal(0, 0.008)) for time in times]


def both(browser: TestClient, folder: Path, times: list[float], **wishes: Any) -> Any:
    """Return what the page tells of a take; the command line tells the same of the same file."""
    passage = wishes.pop("passage")
    text = "\n".join(f"{time:.5f}" for time in times)
    file = folder / "take.txt"
    file.write_text(text, encoding="utf-8")
    asked = {"file": "take.txt", "passage": f"supplied:{passage}", **wishes}
    told = browser.post("/api/heard", params=asked, content=text.encode())
    assert told.status_code == 200, told.text
    document = told.json()["document"]
    assert document == check_file(file, CheckWish(passage, **wishes)).document
    return document


def test_a_take_with_the_recording_is_held_to_it_freely_or_in_the_bars_that_are_named(
    browser: TestClient, tmp_path: Path
) -> None:
    """Who floats over the piano is told less than who was to play with it."""
    how: dict[str, Any] = {"passage": RECORDED, "timing": "recording", "speed": 1.0}
    steady = np.asarray(played(CheckWish(**how)))
    floating = (steady + 0.12 * np.sin(steady * 2)).tolist()
    held, freely, met = (
        both(browser, tmp_path, floating, **how, **more)
        for more in ({}, {"freely": True}, {"meet": "14"})
    )
    amiss = [sum(note["verdict"] != "in time" for note in each["notes"]) for each in (held, freely)]
    assert amiss[0] > amiss[1]
    assert met["notes"] != freely["notes"]


def test_bars_of_the_recording_before_each_repeat_are_counted(
    browser: TestClient, tmp_path: Path
) -> None:
    """Who heard one bar before each repeat did not come in a bar late."""
    how: dict[str, Any] = {
        "passage": RECORDED,
        "timing": "recording",
        "speed": 1.0,
        "bars": "14-17",
    }
    how |= {"repeats": 2, "lead_in": 1}
    told = both(browser, tmp_path, played(CheckWish(**how)), **how)
    assert {note["verdict"] for note in told["notes"]} == {"in time"}
    wrong = both(browser, tmp_path, played(CheckWish(**how)), **{**how, "lead_in": 4})
    assert {note["verdict"] for note in wrong["notes"]} != {"in time"}


def test_a_take_without_a_click_may_breathe(browser: TestClient, tmp_path: Path) -> None:
    """Nobody kept time, and a tempo that slackens is no mistake in every note."""
    times = np.asarray(played(CheckWish(RAG, bars="1-4", speed=0.6)))
    slackening = (times + 0.012 * times**2).tolist()
    free = both(browser, tmp_path, slackening, passage=RAG, bars="1-4", timing="free")
    assert free["timing"] == "free"
    assert {note["verdict"] for note in free["notes"]} == {"in time"}


def test_where_bar_1_begins_and_how_often_it_comes_can_be_said(
    browser: TestClient, tmp_path: Path
) -> None:
    """A lateness of everything is told once the beginning is known."""
    wishes: dict[str, Any] = {"passage": RAG, "bars": "1-4", "speed": 0.6, "repeats": 2}
    times = [time + 3.08 for time in played(CheckWish(**wishes))]
    late = both(browser, tmp_path, times, start=3.0, **wishes)
    found = both(browser, tmp_path, times, **wishes)
    assert late["offset_ms"]["median"] == pytest.approx(80, abs=8)
    assert found["offset_ms"]["median"] == pytest.approx(0, abs=8)


@pytest.mark.parametrize(
    ("wishes", "words"),
    [
        ({"timing": "recording"}, "under Recording"),
        ({"timing": "whim"}, "there is no timing 'whim'"),
        ({"kind": "wind", "aloud": True}, "claps only"),
        ({"start": "soon"}, "must be a number"),
        ({"repeats": "1.5"}, "whole number"),
        ({"speed": 1.0, "tempo": 60}, "not both"),
    ],
)
def test_a_slip_in_how_it_was_played_is_one_sentence(
    browser: TestClient, wishes: dict[str, Any], words: str
) -> None:
    """Before anything is heard."""
    asked = {"file": "take.txt", "passage": f"supplied:{RAG}", **wishes}
    answer = browser.post("/api/heard", params=asked, content=b"1\n2\n3\n")
    assert answer.status_code == 422
    assert words in answer.json()["sentence"]


def test_bars_to_meet_in_are_bars_of_the_passage(browser: TestClient) -> None:
    """And are written as one writes a list."""
    asked = {"file": "take.txt", "passage": f"supplied:{RECORDED}", "timing": "recording"}
    for meet, words in (("99", "no bar 99"), ("one", "like 1,5,9")):
        answer = browser.post("/api/heard", params={**asked, "meet": meet}, content=b"1\n2\n")
        assert words in answer.json()["sentence"]
