"""Bars heard with the recorded accompaniment and then answered, at the page."""

from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

RECORDED = "supplied:32-sluice-gate-rag"
START_S, AHEAD_S = 3.25, 120.5


def _posted(browser: TestClient, way: str, **values: Any) -> Any:
    answer = browser.post(way, json=values)
    assert answer.status_code == 200, answer.text
    return answer.json()


def test_an_answer_over_the_recording_is_held_against_the_bars_that_were_heard(
    browser: TestClient,
) -> None:
    """Whoever echoes the clap exactly, over the same breathing bars, is in time."""
    asked = {"passage": RECORDED, "bars": "5-6", "recorded": True, "echo": 1, "speed": 0.8}
    told = _posted(browser, "/api/track", **asked, lead_in=1)
    roles = [bar["role"] for bar in told["bars"]]
    assert roles == ["count-in", "listen", "answer", "listen", "answer"]
    assert "accompaniment" in told["layers"]
    long_s = [bar["stop_s"] - bar["start_s"] for bar in told["bars"]]
    assert long_s[1::2] == pytest.approx(long_s[2::2])
    assert long_s[1] != pytest.approx(long_s[3], abs=0.001), "the pianist breathes"
    took = _posted(browser, "/api/take", track=told["track"], source="keys", start_s=START_S)
    mine_s = [note["time_s"] for note in told["notes"] if note["yours"]]
    assert len(mine_s) * 2 == len(told["notes"])
    taps = [
        row
        for at in (time_s + START_S + AHEAD_S for time_s in mine_s)
        for row in ([at, "Space", False, None], [at + 0.05, "Space", True, None])
    ]
    clock = [[at, at + AHEAD_S] for at in np.arange(3.0, 30.0, 0.5).tolist()]
    way = f"/api/take/{took['take']}"
    _posted(browser, f"{way}/on", parts=[{"part": 0, "taps": taps, "clock": clock}])
    heard = _posted(browser, f"{way}/end", stopped=False)["document"]
    assert heard["timing"] == "recording"
    assert (heard["tally"]["missed"], heard["tally"]["extra"]) == (0, 0)
    assert {note["verdict"] for note in heard["notes"]} == {"in time"}
