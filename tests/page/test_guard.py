"""Who gets in at the page's door, and what protects what it shows."""

import pytest
from starlette.testclient import TestClient

from rhythmtrain.page import guard

HOST = "127.0.0.1:8000"
WAYS = ["/", "/api/shelf", "/static/page.js"]


@pytest.mark.parametrize("way", WAYS)
def test_nobody_gets_in_without_the_key(stranger: TestClient, way: str) -> None:
    """Another program's page, or another person on the machine, learns nothing."""
    answer = stranger.get(way)
    assert answer.status_code == 403
    assert "rhythmtrain open" in answer.text


def test_the_address_that_was_printed_opens_the_page(browser: TestClient) -> None:
    """One click in the terminal is enough, and the key does not stay in the address bar."""
    answer = browser.get("/")
    assert answer.status_code == 200
    assert "rhythmtrain" in answer.text
    cookie = next(iter(browser.cookies.jar))
    assert cookie.has_nonstandard_attr("HttpOnly")
    assert cookie.get_nonstandard_attr("SameSite") == "strict"


def test_a_wrong_key_opens_nothing(stranger: TestClient) -> None:
    """Guessing is no way in."""
    assert stranger.get("/", params={"key": "guessed"}).status_code == 403
    assert not stranger.cookies


@pytest.mark.parametrize("host", ["evil.example", "127.0.0.1:9999", "evil.example:8000", ""])
def test_a_name_that_was_pointed_here_gets_nothing(browser: TestClient, host: str) -> None:
    """A web site whose name leads to this machine is still another site (DNS rebinding)."""
    assert browser.get("/api/shelf", headers={"host": host}).status_code == 403


@pytest.mark.parametrize(
    "origin", ["http://evil.example", "null", "https://127.0.0.1:8000", "http://127.0.0.1:1"]
)
def test_a_page_of_another_origin_gets_nothing(browser: TestClient, origin: str) -> None:
    """Also where a browser would send the key along."""
    answer = browser.post("/api/track", json={}, headers={"origin": origin})
    assert answer.status_code == 403


def test_our_own_page_may_ask(browser: TestClient) -> None:
    """The guard lets through what it is there for."""
    answer = browser.get("/api/shelf", headers={"origin": f"http://{HOST}"})
    assert answer.status_code == 200


def test_every_answer_keeps_to_this_host(browser: TestClient) -> None:
    """Whatever gets into the page, it can load nothing from elsewhere and is framed by nobody."""
    for way in WAYS:
        policy = browser.get(way).headers["content-security-policy"]
        assert "default-src 'self'" in policy
        assert "script-src 'self';" in policy
        assert "frame-ancestors 'self'" in policy


def test_what_is_too_large_is_refused_at_once(
    browser: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A file of gigabytes fills neither memory nor disk."""
    monkeypatch.setattr(guard, "MOST_BYTES", 1000)
    answer = browser.post("/api/bring", params={"file": "a.mid"}, content=b"x" * 2000)
    assert answer.status_code == 413


def test_what_is_too_large_is_refused_without_a_length_too(
    browser: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A body that does not say how long it is cannot go on for ever."""
    monkeypatch.setattr(guard, "MOST_BYTES", 1000)

    def endless() -> object:
        for _ in range(20):
            yield b"x" * 200

    answer = browser.post("/api/bring", params={"file": "a.mid"}, content=endless())  # type: ignore[arg-type]
    assert answer.status_code == 400
