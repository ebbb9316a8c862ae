"""The page in a real browser: several passages ticked, made one pack, taken away."""

import zipfile
from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, ViewportSize

from tests.real.pages import Served, fits_its_width, opened

PHONE: ViewportSize = {"width": 390, "height": 844}


def test_several_passages_are_ticked_and_taken_away_as_one_pack(
    browser: Browser, here: Served, tmp_path: Path
) -> None:
    """In the order in which they were ticked; the list is long, and can be searched."""
    with opened(browser, here) as page:
        page.get_by_text("Make one pack of several passages").click()
        button = page.get_by_role("button", name="Make the pack")
        assert button.is_disabled()
        page.get_by_label("Morning Walk").wait_for()
        page.get_by_label("Look for").fill("quarter")
        assert not page.get_by_label("Echo Bridge").is_visible()
        page.get_by_label("Stepping Stones").check()
        page.get_by_label("Morning Walk").check()
        chosen = page.get_by_role("list", name="In the pack").get_by_role("listitem")
        assert chosen.all_inner_texts() == ["Stepping Stones", "Morning Walk"]
        found = Axe().run(page).response["violations"]
        assert [each["id"] for each in found if each["impact"] in ("serious", "critical")] == []
        page.set_viewport_size(PHONE)
        fits_its_width(page)
        page.get_by_text("Finer: tempi, sound").click()
        page.get_by_label("Tempi at most").fill("1")
        page.get_by_label("What sounds").select_option("tune,click,count")
        button.click()
        link = page.get_by_role("link", name="Take the pack away")
        link.wait_for(timeout=180_000)
        with page.expect_download() as saved:
            link.click()
        assert saved.value.suggested_filename == "2-passages-pack.zip"
        saved.value.save_as(tmp_path / "pack.zip")
        names = zipfile.ZipFile(tmp_path / "pack.zip").namelist()
        folders = {name.split("/")[0] for name in names if "/" in name}
        assert folders == {"01-steady-quarters", "02-quarters-and-rests"}
        assert "index.html" in names
