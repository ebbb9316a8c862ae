"""A desk in an empty folder, and the page's application before it."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from rhythmtrain.page.app import page_app
from rhythmtrain.page.desk import Desk

KEY = "a-key-that-nobody-guesses"
HOST = "127.0.0.1:8000"


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Desk]:
    """Give a desk whose folder is empty."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path))
    with Desk() as opened:
        yield opened


@pytest.fixture
def stranger(desk: Desk) -> TestClient:
    """Return a browser that has not opened the page."""
    app = page_app(desk, key=KEY, hosts=frozenset({HOST}))
    return TestClient(app, base_url=f"http://{HOST}")


@pytest.fixture
def browser(stranger: TestClient) -> TestClient:
    """Return a browser that has opened the page from its address."""
    assert stranger.get("/", params={"key": KEY}).status_code == 200
    return stranger
