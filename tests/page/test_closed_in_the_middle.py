"""A page that is closed, or a program that is killed, in the middle of a take."""

from typing import Any

import numpy as np
import pytest
from starlette.testclient import TestClient

from rhythmtrain.page.desk import Desk
from rhythmtrain.storage.history import open_history

RAG = "supplied:29-towpath-rag"


def half_a_take(browser: TestClient) -> dict[str, Any]:
    """Begin a take and clap its first two bars; return the track."""
    told: dict[str, Any] = browser.post("/api/track", json={"passage": RAG, "bars": "1-4"}).json()
    begun = {"track": told["track"], "source": "keys", "start_s": 1.0}
    took = browser.post("/api/take", json=begun).json()
    claps = [note["time_s"] + 1.0 for note in told["notes"] if note["index"] < 2]
    clock = [[at, at] for at in np.arange(1.0, 9.0, 0.25).tolist()]
    taps = [[at, "Space", False, None] for at in claps]
    answer = browser.post(f"/api/take/{took['take']}/on", json={"taps": taps, "clock": clock})
    assert answer.json() == {"taps": len(claps)}
    return told


def test_what_was_played_is_kept_when_the_program_was_killed(
    browser: TestClient,
) -> None:
    """The next sitting finds the take, checks it as far as it went, and says so once."""
    half_a_take(browser)
    with Desk() as later:
        assert "was checked as far as it went" in later.greetings[0]
        assert not list(later.sitting.folders.takes.iterdir())
    with open_history() as history:
        (take,) = history.takes()
    assert len(take.record.onsets) == 10
    assert take.record.document["tally"]["missed"] == 0
    with Desk() as third:
        assert not third.greetings


def test_half_a_line_at_the_end_loses_only_itself(browser: TestClient, desk: Desk) -> None:
    """A disk that stopped in the middle of a line keeps the lines before it."""
    half_a_take(browser)
    (journal,) = desk.sitting.folders.takes.iterdir()
    with journal.open("ab") as file:
        file.write(b'{"taps": [[9.5, "Spa')
    with Desk() as later:
        assert later.greetings


@pytest.mark.parametrize(
    "rubbish", [b"", b"\x00\xff", b"{}\n", b'{"values": {"passage": "own:gone.toml"}}\n']
)
def test_a_journal_of_rubbish_does_not_keep_the_page_closed(desk: Desk, rubbish: bytes) -> None:
    """Whatever lies there, the page opens."""
    path = desk.sitting.folders.takes / "abcdefghij.jsonl"
    path.write_bytes(rubbish)
    with Desk() as later:
        assert not later.greetings
    assert not path.exists()
