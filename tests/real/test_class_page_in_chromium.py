"""A class at the page in a real browser: from a folder of recordings to each student's page."""

import io
import zipfile
from pathlib import Path

import pytest
import soundfile
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.real.pages import PRESSED, Served, fits_its_width, go, opened, served
from tests.simulate.class_takes import RATE, clapped, write_m4a

PASSAGE = "10-off-beats"
MANY = 24
ZOE = "Zo\u00eb O\u2019Dell"
SIZES = {"a phone": (390, 844), "a tablet": (820, 1180), "a desk": (1440, 900)}


@pytest.fixture(scope="module")
def tuesday(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Lay a teacher's folder: a student's folder, single files, a damaged clip, a photo."""
    folder = tmp_path_factory.mktemp("work") / "Tuesday"
    (folder / ZOE).mkdir(parents=True)
    sound = clapped(PASSAGE, 0, speed=1.0, repeats=1)
    write_m4a(folder / ZOE / "try two.m4a", sound)
    soundfile.write(folder / ZOE / "try one.wav", sound[: 6 * RATE], RATE)
    whole = clapped(PASSAGE, 3, speed=1.0, repeats=1)
    whole[7 * RATE : 8 * RATE] = 0.001
    soundfile.write(folder / "Ay\u015fe.wav", whole, RATE)
    (folder / "Carla.mov").write_bytes(b"a video that was never finished")
    (folder / "photo.jpg").write_bytes(b"a picture")
    (folder / ".DS_Store").write_bytes(b"x")
    return folder


def choose(page: Page) -> None:
    """Say which passage they played."""
    page.get_by_label("Passage", exact=True).select_option(f"supplied:{PASSAGE}")


def sound(page: Page) -> None:
    """Look for what hinders whoever sees or reads differently."""
    found = Axe().run(page, options={"runOnly": ["wcag2a", "wcag2aa", "wcag21aa"]})
    assert not found.response["violations"], found.generate_report()
    fits_its_width(page)


@pytest.fixture(scope="module")
def address(browser: Browser, here: Served, tuesday: Path) -> str:
    """Bring a folder, hear it, and return where the class is shown."""
    with opened(browser, here) as page:
        go(page, "class")
        page.get_by_label("A whole folder").set_input_files(tuesday)
        page.wait_for_selector("text=3 students, 4 recordings here.")
        assert page.locator("h1").inner_text() == "Tuesday"
        page.get_by_text("1 file that holds no recording was passed over.").wait_for()
        choose(page)
        page.get_by_label("Beats a minute").fill("72")
        page.get_by_role("button", name="Hear them all").click()
        page.wait_for_selector("table.cells")
        return page.url.split("#")[1]


def test_a_folder_is_brought_heard_and_told_of(
    browser: Browser, here: Served, address: str
) -> None:
    """A row a student, a column a bar; what could not be heard is said and stopped nobody."""
    with opened(browser, here) as page:
        go(page, address)
        page.wait_for_selector("table.cells")
        heads = page.locator("table.cells tbody th").all_inner_texts()
        assert heads == ["Ay\u015fe", ZOE]
        assert page.locator("table.cells tbody tr").first.locator("td").count() > 2
        assert "not heard" in page.locator("table.cells tbody tr").first.inner_text()
        assert "Carla.mov" in page.locator("dl.each").inner_text()


def test_a_students_page_opens_from_the_class_and_its_bars_are_heard(
    browser: Browser, here: Served, address: str
) -> None:
    """Within the page, in a tab, and from the class's own page, whose links carry the key."""
    with opened(browser, here) as page:
        go(page, address)
        page.locator("table.cells").get_by_role("link", name="Ay\u015fe").click()
        page.get_by_role("heading", name="Ay\u015fe").wait_for()
        frame = page.frame_locator("iframe")
        button = frame.get_by_role("button", name="hear bar").first
        button.click()
        frame.locator("button[aria-pressed=true]").wait_for()
        page.get_by_label("From you for Ay\u015fe").fill("Bar 4 <slowly>, please.")
        page.get_by_text("kept", exact=True).wait_for()
        frame.get_by_text("Bar 4 <slowly>, please.").wait_for()
        go(page, address)
        with page.context.expect_page() as tab:
            page.get_by_role("link", name="The page of the class").click()
        whole = tab.value
        whole.get_by_text("From you: Bar 4 <slowly>, please.").wait_for()
        whole.locator("table").get_by_role("link", name=ZOE).first.click()
        whole.get_by_role("heading", name=ZOE).wait_for()
        assert whole.evaluate("self.origin") == "null"
        whole.go_back()
        whole.get_by_role("heading", name="What each is to do first").wait_for()
        whole.locator("table").get_by_role("link", name="Ay\u015fe").first.click()
        whole.get_by_role("button", name="hear bar").first.click()
        whole.locator("button[aria-pressed=true]").wait_for()
        whole.close()


def test_everything_is_taken_away(browser: Browser, here: Served, address: str) -> None:
    """One zip file, whose pages open without the program."""
    with opened(browser, here) as page:
        go(page, address)
        with page.expect_download() as taken:
            page.get_by_role("link", name="Take everything away").click()
        file = zipfile.ZipFile(io.BytesIO(Path(taken.value.path()).read_bytes()))
        assert {"class.html", "notes.toml", f"{ZOE}.html"} <= set(file.namelist())
        assert taken.value.suggested_filename == "tuesday-class.zip"


def test_a_folder_is_dropped_and_heard_with_the_keyboard_alone_until_it_is_stopped(
    browser: Browser, here: Served, tmp_path: Path
) -> None:
    """A drop brings what lies in the folder; Tab and Enter do the rest, Stop among it.

    So many that they are not all heard before Stop is reached, on whatever machine.
    """
    wednesday = tmp_path / "Wednesday"
    wednesday.mkdir()
    for number in range(MANY):
        sound = clapped(PASSAGE, 3, speed=1.0, repeats=1)
        soundfile.write(wednesday / f"Student {number + 1}.flac", sound, RATE)
    with opened(browser, here) as page:
        go(page, "class")
        page.wait_for_selector("#class-folder")
        drop(page, wednesday)
        page.wait_for_selector(f"text={MANY} students, {MANY} recordings here.")
        reach(page, "Hear them all")
        page.keyboard.press("Enter")
        page.wait_for_selector("text=Which passage did they play?")
        assert page.evaluate("document.activeElement.id") == page.get_by_label(
            "Passage", exact=True
        ).get_attribute("id")
        page.keyboard.type("Echo")
        reach(page, "Hear them all")
        page.keyboard.press("Enter")
        page.wait_for_selector("progress")
        reach(page, "Stop")
        page.keyboard.press("Enter")
        page.wait_for_selector("text=You stopped the hearing")
        reach(page, "Hear them all")


def drop(page: Page, path: Path) -> None:
    """Drop a folder of this machine onto the page, as a hand does."""
    session = page.context.new_cdp_session(page)
    data = {"items": [], "files": [str(path)], "dragOperationsMask": 1}
    for kind in ("dragEnter", "dragOver", "drop"):
        session.send("Input.dispatchDragEvent", {"type": kind, "x": 300, "y": 300, "data": data})


def reach(page: Page, words: str) -> None:
    """Press Tab until what one presses and what says ``words`` has the focus, and shows it."""
    for _ in range(60):
        if page.evaluate(PRESSED).strip() == words:
            assert page.evaluate("getComputedStyle(document.activeElement).outlineStyle") != "none"
            return
        page.keyboard.press("Tab")
    pytest.fail(f"{words} is not reached with Tab")


@pytest.mark.long
def test_two_pages_look_on_and_a_kill_in_the_middle_leaves_what_was_brought(
    browser: Browser, tuesday: Path, tmp_path: Path
) -> None:
    """A second tab sees how far it is; after a power cut the class is heard again from what is there."""
    with served(tmp_path) as first:
        context = browser.new_context()
        page = context.new_page()
        page.goto(first.address)
        go(page, "class")
        page.get_by_label("A whole folder").set_input_files(tuesday)
        page.wait_for_selector("text=3 students, 4 recordings here.")
        second = context.new_page()
        second.goto(page.url)
        second.get_by_role("button", name="Hear them all").wait_for()
        page.bring_to_front()
        choose(page)
        page.get_by_role("button", name="Hear them all").click()
        page.wait_for_selector("progress")
        second.bring_to_front()
        choose(second)
        second.get_by_role("button", name="Hear them all").click()
        second.wait_for_selector("progress")
        first.kill()
        context.close()
    with served(tmp_path) as again, opened(browser, again) as page:
        go(page, "class")
        page.get_by_role("link", name="Tuesday").click()
        page.wait_for_selector("text=3 students, 4 recordings here.")
        choose(page)
        page.get_by_role("button", name="Hear them all").click()
        page.wait_for_selector("table.cells")
        assert page.locator("table.cells tbody th").all_inner_texts() == ["Ay\u015fe", ZOE]


@pytest.mark.parametrize("size", SIZES.values(), ids=SIZES)
def test_nothing_of_a_class_hinders_whoever_sees_or_reads_differently(
    browser: Browser, here: Served, address: str, size: tuple[int, int]
) -> None:
    """The list, a class, a student, by axe-core's rules and without scrolling sideways."""
    with opened(browser, here, size=size) as page:
        for place, mark in (
            ("class", ".list li"),
            (address, "table.cells"),
            (f"{address}&student=Ay%C5%9Fe.html", "iframe"),
        ):
            go(page, place)
            page.wait_for_selector(mark)
            sound(page)
