"""Asking the page's program for a document, as its scripts do."""

from typing import Any

from starlette.testclient import TestClient


def posted(browser: TestClient, way: str, **values: Any) -> dict[str, Any]:
    """Return the document that a request brings."""
    answer = browser.post(way, json=values)
    assert answer.status_code == 200, answer.text
    document = answer.json()
    assert isinstance(document, dict)
    return document
