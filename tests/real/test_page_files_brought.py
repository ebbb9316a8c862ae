"""The page in a real browser: beats kept as a file and brought back, the accompanist's notes brought."""

from pathlib import Path

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from rhythmtrain.storage.places import drills_folder
from tests.page.test_cues_at_the_page import piano
from tests.real.pages import Served, fits_its_width, go, opened


def check_within_reach(page: Page) -> None:
    """Fail where a person who hears the page, or has a phone, is shut out."""
    found = Axe().run(page).response["violations"]
    assert [each["id"] for each in found if each["impact"] in ("serious", "critical")] == []
    fits_its_width(page)


def test_beats_go_and_come_as_a_file(browser: Browser, here: Served, tmp_path: Path) -> None:
    """With the keyboard: opened, brought, looked at, taken away again as they came."""
    beats = drills_folder() / "sluice-gate-piano.beats"
    with opened(browser, here, size=(390, 844)) as page:
        sound = page.get_by_label("Bring a score or a recording")
        sound.set_input_files(drills_folder() / "sluice-gate-piano.ogg")
        page.locator("summary", has_text="Keep the beats elsewhere").press("Enter")
        away = page.get_by_role("link", name="these beats as a file")
        away.wait_for(state="hidden")
        check_within_reach(page)
        page.get_by_label("beats or taps").set_input_files(beats)
        page.get_by_text("is heard with the clicks").wait_for()
        with page.expect_download() as saved:
            away.press("Enter")
        assert saved.value.suggested_filename == "sluice-gate-piano.beats"
        saved.value.save_as(tmp_path / "same.beats")
        assert (tmp_path / "same.beats").read_bytes() == beats.read_bytes()


def test_the_accompanists_notes_tell_the_cue(
    browser: Browser, here: Served, tmp_path: Path
) -> None:
    """They are brought where one asks what is played before the entry, and either hand is told."""
    file = tmp_path / "piano.mid"
    file.write_bytes(piano(14))
    with opened(browser, here, size=(390, 844)) as page:
        go(page, "entry/supplied:28-towpath-entry")
        page.locator("summary", has_text="how much, whose notes").press("Enter")
        check_within_reach(page)
        page.get_by_label("their notes", exact=True).set_input_files(file)
        page.locator("pre.told", has_text="from the accompanist's notes").wait_for()
        assert "entry/own" in page.evaluate("decodeURIComponent(location.hash)")
        page.locator("summary", has_text="how much, whose notes").press("Enter")
        page.get_by_label("of their notes").select_option("lower")
        page.get_by_role("button", name="What is played before it").press("Enter")
        page.locator("pre.told", has_text="C3").wait_for()
        with page.expect_download() as saved:
            page.get_by_role("link", name="this sound (MIDI)").press("Enter")
        assert saved.value.suggested_filename == "towpath-rag-the-entry-bar-11-cue.mid"
