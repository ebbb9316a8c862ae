"""The page in a real browser: a folder of one's own recorded words, and which are still missing."""

from pathlib import Path

import numpy as np
import soundfile
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, ViewportSize

from tests.real.pages import Served, fits_its_width, opened

RATE = 44_100
PHONE: ViewportSize = {"width": 390, "height": 844}


def test_a_folder_of_words_is_brought_and_counted_with(
    browser: Browser, here: Served, tmp_path: Path
) -> None:
    """The page says which words are hers, and which are not."""
    folder = tmp_path / "my words"
    folder.mkdir()
    at = np.arange(round(0.3 * RATE)) / RATE
    for name, pitch in (("one", 220), ("and", 330)):
        soundfile.write(folder / f"{name}.wav", 0.2 * np.sin(2 * np.pi * pitch * at), RATE)
    with opened(browser, here) as page:
        page.goto(f"{page.url.split('#')[0]}#settings")
        page.get_by_text("every word is said by the supplied voice").wait_for()
        page.get_by_label("A whole folder").set_input_files(folder)
        page.get_by_text("2 words came.").wait_for()
        page.get_by_text("Yours (2): one, and.").wait_for()
        assert page.get_by_label("count with these recordings").is_checked()
        page.get_by_text("Still said by the supplied voice").click()
        assert "three" in page.get_by_role("group", name="Your own voice").inner_text()
        found = Axe().run(page).response["violations"]
        assert [each["id"] for each in found if each["impact"] in ("serious", "critical")] == []
        page.set_viewport_size(PHONE)
        fits_its_width(page)
        page.get_by_text("Take words away").click()
        page.once("dialog", lambda dialog: dialog.accept())
        page.get_by_role("button", name="Take “and” away").click()
        page.get_by_text("Yours (1): one.").wait_for()
        with page.expect_response("**/api/settings"):
            page.get_by_label("count with these recordings").uncheck()
        page.reload()
        page.get_by_text("Yours (1): one.").wait_for()
        assert not page.get_by_label("count with these recordings").is_checked()
