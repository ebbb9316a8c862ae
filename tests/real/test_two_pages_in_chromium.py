"""Two pages of one program, in two browsers, clapped to at the same time."""

import pytest
from playwright.sync_api import Page, Response

from tests.real.pages import chromium, go, opened, served

RAG, WALK = "supplied:29-towpath-rag", "supplied:01-steady-quarters"


def ready(page: Page, passage: str) -> None:
    """Go where two bars of ``passage`` are practised, slowly, and set everything up."""
    go(page, f"practise/{passage}")
    page.get_by_label("to", exact=True).fill("2")
    page.get_by_role("button", name="Take these").click()
    page.get_by_role("button", name="All bars").wait_for()
    page.get_by_label("How fast").fill("0.3")


def answers(page: Page) -> list[Response]:
    """Return where the answer comes to stand that a take's end brings."""
    found: list[Response] = []
    page.on("response", lambda came: found.append(came) if came.url.endswith("/end") else None)
    return found


def test_two_who_clap_at_once_are_told_each_of_their_own(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    """The teacher's window and the student's: passages, claps and settings are not mixed up."""
    with (
        served(tmp_path_factory.mktemp("home")) as here,
        chromium() as browser,
        opened(browser, here) as one,
        opened(browser, here) as other,
    ):
        for page, passage in ((one, RAG), (other, WALK)):
            ready(page, passage)
        one.get_by_label("Count-in").select_option("2")
        told = [answers(one), answers(other)]
        for page in (one, other):
            page.get_by_role("button", name="Clap along").click()
        for page in (one, other):
            page.wait_for_selector(".frame:not([hidden])")
        for _ in range(4):
            one.keyboard.press("j")
            other.keyboard.press("k")
            one.wait_for_timeout(100)
            one.keyboard.press("j")
            one.wait_for_timeout(200)
        assert other.get_by_label("Count-in").input_value() == "1"
        for page in (one, other):
            page.keyboard.press("Escape")
            page.wait_for_selector("dl.said, .trouble")
        rag, walk = (each[0].json()["document"] for each in told)
    assert (rag["passage"], walk["passage"]) == ("Towpath Rag, second strain", "Morning Walk")
    assert (len(rag["take"]["onsets"]), len(walk["take"]["onsets"])) == (8, 4)
