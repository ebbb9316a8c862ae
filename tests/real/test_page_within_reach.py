"""The page for a hand or a foot, a keyboard alone, a screen reader: every place, and what happens in it."""

import base64
import io
import time
from collections.abc import Iterator
from typing import Any
from urllib.parse import urlencode

import numpy as np
import pytest
import soundfile
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from rhythmtrain.cli.main import run
from tests.real.pages import PATIENCE_MS, Served, fits_its_width, go, opened, served

RAG, ENTRY = "supplied:29-towpath-rag", "supplied:28-towpath-entry"
PLACES = ("choose", f"practise/{RAG}", f"entry/{ENTRY}", "recording", "settings", "class")
PHONE, SMALLEST = (390, 844), (320, 480)
LEAST_PX = 44
RULES = ["wcag2a", "wcag2aa", "wcag21aa"]
# What is smaller than a finger, of all that one presses; a link in a sentence is read, not pressed.
SMALL = """(least) => [...document.querySelectorAll("a, button, input, select, textarea, summary")]
    .filter((each) => each.checkVisibility() && !each.closest(".skip, p:not(.row)"))
    .map((each) => [each.closest("label") || each, each])
    .filter(([held]) => held.getBoundingClientRect().height < least - 0.5)
    .map(([held, each]) => `${each.tagName} ${held.innerText || each.id} ${held.getBoundingClientRect().height}`)"""
TABBABLE = """() => [...document.querySelectorAll("a[href], button, input, select, textarea, summary, iframe, [tabindex='0']")]
    .filter((each) => each.checkVisibility() && !each.disabled).length"""
# Where the focus is: its place in the document, whether it is seen, what it is.
FOCUS = """() => {
    const here = document.activeElement;
    const box = here.getBoundingClientRect();
    const all = [...document.querySelectorAll("*")];
    return { at: all.indexOf(here), outline: getComputedStyle(here).outlineStyle, seen: box.bottom > 0 && box.top < innerHeight,
        what: `${here.tagName} ${(here.innerText || here.id || "").slice(0, 40)}` };
}"""
MOST_IN_A_FRAME = 60
CHATTER = """() => {
    window.said = [];
    const places = document.querySelectorAll("[aria-live], [role=status], output");
    const watch = new MutationObserver((all) => window.said.push(...all.map((each) => each.target.textContent)));
    places.forEach((each) => watch.observe(each, { childList: true, characterData: true, subtree: true }));
}"""
DROP = """([name, text]) => {
    const bytes = Uint8Array.from(atob(text), (letter) => letter.charCodeAt(0));
    const carried = new DataTransfer();
    carried.items.add(new File([bytes], name));
    document.querySelector("h1").dispatchEvent(new DragEvent("drop", { dataTransfer: carried, bubbles: true, cancelable: true }));
}"""
# The chosen beat is said to lie at this second.
MOVED_TO = """(wanted) => {
    const said = document.querySelector("output.pair").innerText.match(/, at ([0-9.]+) s/);
    return said && Math.abs(Number(said[1]) - wanted) <= 0.006;
}"""
# Claps that are no steady quarters at any tempo.
ELSE_PLAYED = "\n".join(map(str, np.random.default_rng(0).uniform(0.1, 1.5, 30).cumsum().tolist()))
MINE = 'title = "My march"\nmetre = "2/4"\ntempo = 80\nrhythm = "1 & 2 & | 1 (2)"\n'


def strokes() -> bytes:
    """Return a recording of ten strokes, half a second apart, as a file."""
    sound = np.zeros(44_100 * 6, np.float32)
    one = np.exp(-np.arange(4_000) / 400) * np.sin(np.arange(4_000) * 0.2)
    for number in range(10):
        at = round((0.5 + number / 2) * 44_100)
        sound[at : at + len(one)] += 0.6 * one.astype(np.float32)
    file = io.BytesIO()
    soundfile.write(file, sound, 44_100, format="WAV")
    return file.getvalue()


def at_s(words: str) -> float:
    """Return the second that is named of a beat."""
    return float(words.split(", at ")[1].partition(" s")[0])


def nothing_hinders(page: Page) -> None:
    """Find everything large enough to press, and no fault of axe's in either look."""
    assert page.evaluate(SMALL, LEAST_PX) == []
    for look in ("add", "remove"):
        page.evaluate(f"document.documentElement.classList.{look}('strong')")
        found = Axe().run(page, options={"runOnly": RULES})
        assert not found.response["violations"], found.generate_report()
    fits_its_width(page)


@pytest.fixture(scope="module")
def here(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Served]:
    """Serve a page on which a take was kept."""
    home = tmp_path_factory.mktemp("home")
    taps = tmp_path_factory.mktemp("mine") / "taps.txt"
    taps.write_text("\n".join(str(0.75 * number) for number in range(16)))
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("RHYTHMTRAIN_HOME", str(home))
        assert run(["check", str(taps), "01-steady-quarters", "--keep"]) == 0
    with served(home) as page:
        yield page


@pytest.fixture(scope="module")
def students(browser: Browser, here: Served) -> list[str]:
    """Have a class heard, and return where its students are shown: the second played something else."""
    with opened(browser, here) as page:
        asked: dict[str, Any] = {"passage": "supplied:01-steady-quarters", "kind": "claps"}
        name = page.request.post(f"{here.origin}/api/classes", data={"title": "Tuesday"}).json()
        way = f"{here.origin}/api/class/{name['class']}"
        assert page.request.post(f"{way}/bring?called=Ada.wav", data=strokes()).ok
        assert page.request.post(f"{way}/bring?called=Bela.txt", data=ELSE_PLAYED).ok
        assert page.request.post(f"{way}/hear", data=asked | {"timing": "click"}).ok
        until = time.monotonic() + PATIENCE_MS / 1000
        while not (told := page.request.get(way).json())["heard"]:
            assert told["hearing"]["state"] != "failed", told
            assert time.monotonic() < until, told
            page.wait_for_timeout(100)
        pages = [each["page"] for each in told["heard"]["students"]]
        shown = [{"class": name["class"], "student": each} for each in pages]
        return [f"class//{urlencode(each)}" for each in shown]


def walked(page: Page) -> int:
    """Press Tab from the first thing to the last; return how many had the focus in turn.

    A frame has it as long as one walks in what it shows.  Who comes round again has had all there is.
    """
    page.evaluate("document.querySelector('.skip').focus()")
    first = page.evaluate(FOCUS)["at"]
    before, inside, turns = first, 0, 1
    while inside < MOST_IN_A_FRAME:
        focus = tabbed(page)
        if focus["what"].startswith("BODY") or focus["at"] == first:
            return turns
        assert focus["outline"] != "none", focus
        assert focus["seen"], focus
        if focus["at"] == before and focus["what"].startswith("IFRAME"):
            inside += 1
            continue
        assert focus["at"] > before, focus
        before, turns = focus["at"], turns + 1
    raise AssertionError(f"the focus does not come out of a frame after {inside} turns")


def tabbed(page: Page, keys: str = "Tab") -> dict[str, Any]:
    """Press Tab and return where the focus is, once it went on; a frame may be another process."""
    before = [frame.evaluate(FOCUS)["at"] for frame in page.frames]
    page.keyboard.press(keys)
    for _ in range(2_000):
        if [frame.evaluate(FOCUS)["at"] for frame in page.frames] != before:
            break
        page.wait_for_timeout(10)
    focus: dict[str, Any] = page.evaluate(FOCUS)
    return focus


@pytest.mark.parametrize("place", PLACES)
def test_every_place_is_walked_with_tab_in_the_order_one_reads(
    browser: Browser, here: Served, place: str
) -> None:
    """Nothing is left out, nothing traps the focus, and one sees where it is."""
    with opened(browser, here) as page:
        go(page, place)
        assert walked(page) == page.evaluate(TABBABLE) > 10


def test_a_frame_is_walked_with_tab_and_is_seen_to_have_the_focus(
    browser: Browser, here: Served, students: list[str]
) -> None:
    """How it goes over the days, and what was heard of a student: pages of their own within ours."""
    with opened(browser, here) as page:
        for place in ("days", students[0]):
            go(page, place)
            page.frame_locator("iframe").locator("h1").first.wait_for()
            assert walked(page) == page.evaluate(TABBABLE) > 10
            page.locator("iframe.inside").wait_for(state="detached")
            for _ in range(page.evaluate(TABBABLE)):
                if tabbed(page, "Shift+Tab")["what"].startswith("IFRAME"):
                    break
            outline = page.locator("iframe.inside").evaluate(
                "(each) => getComputedStyle(each).outlineWidth"
            )
            assert outline == "3px"


def test_a_frame_in_which_nothing_can_be_pressed_is_scrolled_with_keys(
    browser: Browser, here: Served, students: list[str]
) -> None:
    """Of another piece little is told, and what does not fit on a phone is reached all the same."""
    with opened(browser, here, size=SMALLEST) as page:
        go(page, students[1])
        page.frame_locator("iframe").get_by_text("does not sound like").first.wait_for()
        assert walked(page) == page.evaluate(TABBABLE) > 10
        shown = page.frames[-1]
        assert shown.evaluate("document.querySelectorAll('button, summary').length") == 0
        assert shown.evaluate("document.documentElement.scrollHeight > innerHeight")
        page.evaluate("document.querySelector('iframe').scrollIntoView()")
        page.locator("iframe").evaluate(
            "(each) => each.previousElementSibling.querySelector('input').focus()"
        )
        assert tabbed(page)["what"].startswith("IFRAME")
        page.keyboard.press("PageDown")
        shown.wait_for_function("() => scrollY > 0")


def test_a_recording_dropped_on_the_first_place_goes_where_its_bars_are_found(
    browser: Browser, here: Served
) -> None:
    """One need not know which place takes what; from there it can be written down as well."""
    with opened(browser, here) as page:
        go(page, "choose")
        sound = base64.b64encode(strokes()).decode()
        page.evaluate(DROP, ["Phone memo.wav", sound])
        page.get_by_text("Your recording is kept").wait_for()
        page.get_by_role("link", name="Write it down as notes").click()
        page.get_by_label("beats a minute").fill("120")
        page.get_by_role("button", name="Write your recording down").click()
        page.wait_for_function("() => document.querySelector('#text').value.includes('phone memo')")
        page.evaluate(DROP, ["march.toml", base64.b64encode(MINE.encode()).decode()])
        page.get_by_role("heading", name="My march").wait_for()


def test_what_happens_in_a_place_hinders_nobody(browser: Browser, here: Served) -> None:
    """On a phone, in both looks: while one writes, after a take, at an entry, in a session."""
    with opened(browser, here, size=PHONE, has_touch=True) as page:
        go(page, "write")
        page.locator("#text").fill(MINE.replace("1 (2)", "1 3"))
        page.wait_for_selector(".trouble")
        nothing_hinders(page)
        kept = page.request.post(f"{here.origin}/api/passage/write", data={"text": MINE}).json()
        go(page, f"practise/{kept['name']}")
        nothing_hinders(page)
        # Slow: it plays on until all was looked at, however busy the machine is.
        page.get_by_label("How fast").fill("0.3")
        page.get_by_label("Play it").select_option("8")
        page.get_by_label("Count-in").select_option("0")
        page.get_by_role("button", name="Clap along").tap()
        page.wait_for_selector(".pad:not([hidden])")
        page.evaluate(CHATTER)
        nothing_hinders(page)
        for _ in range(4):
            page.locator(".pad").tap()
        assert page.evaluate("said") == []
        page.keyboard.press("Escape")
        page.wait_for_selector("dl.said, .trouble")
        nothing_hinders(page)
        go(page, f"entry/{ENTRY}")
        page.get_by_role("button", name="Begin").tap()
        page.get_by_role("button", name="Go").wait_for()
        nothing_hinders(page)
        go(page, f"session/{RAG}")
        page.get_by_role("button", name="Begin").tap()
        page.get_by_role("button", name="Go").wait_for()
        nothing_hinders(page)
        for place in ("choose", "settings", "days", "class"):
            go(page, place)
            nothing_hinders(page)
        go(page, "days")
        takes = page.locator(".scrolls", has_text="judge again")
        assert takes.evaluate("(each) => each.scrollWidth <= each.clientWidth")


def test_beats_are_chosen_and_moved_with_keys_alone(browser: Browser, here: Served) -> None:
    """A beat beside its stroke is put right without a mouse, and all is worked out again."""
    with opened(browser, here, size=PHONE) as page:
        brought = page.request.post(f"{here.origin}/api/bring?file=strokes.wav", data=strokes())
        name = brought.json()["name"]
        asked: dict[str, Any] = {"at": ["1=0.5", "5=4.5"], "bars": "1-5", "metre": "2/4"}
        page.request.post(f"{here.origin}/api/recording/{name}/beats", data=asked)
        go(page, f"recording//name={name}")
        page.wait_for_selector(".beat.first")
        nothing_hinders(page)
        named = page.locator("output.pair")
        page.keyboard.press(">")
        page.keyboard.press(">")
        assert named.inner_text().startswith("Bar 2, beat 1, at ")
        before_s = at_s(named.inner_text())
        for _ in range(3):
            page.keyboard.press("ArrowRight")
        assert at_s(named.inner_text()) == pytest.approx(before_s + 0.03, abs=0.011)
        with page.expect_response("**/nearest") as answered:
            page.keyboard.press("n")
        nearest_s = answered.value.json()["time_s"]
        assert nearest_s == pytest.approx(1.5, abs=0.01)
        page.wait_for_function(MOVED_TO, arg=nearest_s)
        again = page.get_by_role("button", name="Work it out again")
        for _ in range(30):
            if again.evaluate("(each) => each === document.activeElement"):
                break
            page.keyboard.press("Tab")
        with page.expect_response("**/beats") as answered:
            page.keyboard.press("Enter")
        beats = answered.value.json()["beats"]
        times = [beat["time_s"] for beat in beats]
        assert times == pytest.approx([0.5 + number / 2 for number in range(10)], abs=0.03)
