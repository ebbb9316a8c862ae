"""The page in a real browser: the accompanist's rhythm clapped first, over and over, then one's own."""

import re

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from tests.real.pages import Served, go, opened

ENTRY = "supplied:28-towpath-entry"
# Claps again and again until what was heard of one time through is said.
UNTIL_TOLD = """() => {
    const told = document.querySelector(".round");
    const touch = { bubbles: true, cancelable: true, pointerId: 1 };
    const clap = () => document.querySelector(".pad").dispatchEvent(new PointerEvent("pointerdown", touch));
    const clapping = setInterval(() => (told.textContent ? clearInterval(clapping) : clap()), 200);
}"""


def test_one_claps_over_and_over_and_hears_between_how_it_went(
    browser: Browser, here: Served
) -> None:
    """Nothing has to be pressed between; the accompanist's bars come first where that is wished."""
    with opened(browser, here) as page:
        go(page, f"practise/{ENTRY}")
        page.get_by_label("to", exact=True).fill("1")
        page.get_by_role("button", name="Take these").click()
        page.get_by_role("button", name="All bars").wait_for()
        page.get_by_label("over and over, until I stop").check()
        page.get_by_label("rhythm first").check()
        page.get_by_label("Play it").wait_for(state="detached")
        found = Axe().run(page).response["violations"]
        assert [each["id"] for each in found if each["impact"] in ("serious", "critical")] == []
        page.get_by_role("slider", name="How fast").fill("1.2")
        page.get_by_role("button", name="Clap along").click()
        page.get_by_text("rhythm here: any key").wait_for()
        page.evaluate(UNTIL_TOLD)
        page.locator(".round", has_text=re.compile(r"\w")).wait_for()
        page.locator(".count", has_text=re.compile("bar 1, time [2-9]")).wait_for()
        page.keyboard.press("Escape")
        own = page.get_by_role("button", name="Now your own")
        own.click()
        page.get_by_text("Clap here: any key, or touch").wait_for()
        own.wait_for(state="detached")
