"""Keys held on the page as long as the notes: a note that was cut short is said to be."""

from typing import Any

import numpy as np
from starlette.testclient import TestClient

MINE = 'title = "Long notes"\nmetre = "4/4"\ntempo = 80\nrhythm = "1 3 | 1 (4) | 1 3 | 1 (4)"\n'


def played(browser: TestClient, *, short: bool) -> dict[str, Any]:
    """Play the passage, each key held as long as its note, one of three beats let go after one."""
    kept = browser.post("/api/passage/write", json={"text": MINE}).json()
    told: Any = browser.post("/api/track", json={"passage": kept["name"]}).json()
    took = browser.post("/api/take", json={"track": told["track"], "source": "keys", "start_s": 0})
    beats = [2, 2, 3, 2, 2, 3]
    taps = []
    for number, (note, lasts) in enumerate(zip(told["notes"], beats, strict=True)):
        held = 1 if short and number == 2 else lasts
        taps.append([note["time_s"], "Space", False, None])
        taps.append([note["time_s"] + 0.93 * held * 60 / 80, "Space", True, None])
    clock = [[at, at] for at in np.arange(0.5, 20.0, 0.5).tolist()]
    way = f"/api/take/{took.json()['take']}"
    browser.post(f"{way}/on", json={"parts": [{"part": 0, "taps": taps, "clock": clock}]})
    answer: dict[str, Any] = browser.post(f"{way}/end", json={"stopped": False}).json()
    return answer


def test_a_key_that_was_let_go_too_soon_is_told(browser: TestClient) -> None:
    """Cut off before a rest: the first thing one hears of a long note."""
    answer = played(browser, short=True)
    lengths = answer["document"]["lengths"]
    assert [each["bar"] for each in lengths if each["verdict"] != "as written"] == [2]
    assert "held" in " ".join(words for _, words in answer["said"])


def test_keys_held_as_written_need_no_word(browser: TestClient) -> None:
    """Nobody is told of a fault there was none of."""
    answer = played(browser, short=False)
    assert {each["verdict"] for each in answer["document"]["lengths"]} == {"as written"}
    assert "held" not in " ".join(words for _, words in answer["said"])
