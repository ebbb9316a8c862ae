"""The page for a hand or a foot, a keyboard alone, a screen reader: every place, and what happens in it."""

import base64
import io
from typing import Any

import numpy as np
import pytest
import soundfile
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page

from tests.real.pages import Served, opened

RAG, ENTRY = "supplied:29-towpath-rag", "supplied:28-towpath-entry"
PLACES = ("choose", f"practise/{RAG}", f"entry/{ENTRY}", "recording", "settings", "days", "class")
PHONE = (390, 844)
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


def go(page: Page, here: Served, place: str) -> None:
    """Go to ``place`` and wait until it is there."""
    page.goto(f"{here.origin}/#{place}")
    page.wait_for_selector("main h1")
    page.wait_for_load_state("networkidle")


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
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize("place", PLACES)
def test_every_place_is_walked_with_tab_in_the_order_one_reads(
    browser: Browser, here: Served, place: str
) -> None:
    """Nothing is left out, nothing traps the focus, and one sees where it is."""
    with opened(browser, here) as page:
        go(page, here, place)
        page.evaluate("document.querySelector('.skip').focus()")
        before = page.evaluate(FOCUS)["at"]
        for _ in range(page.evaluate(TABBABLE) - 1):
            page.keyboard.press("Tab")
            focus = page.evaluate(FOCUS)
            assert focus["at"] > before, focus
            assert focus["outline"] != "none", focus
            assert focus["seen"], focus
            before = focus["at"]


def test_a_recording_dropped_on_the_first_place_goes_where_its_bars_are_found(
    browser: Browser, here: Served
) -> None:
    """One need not know which place takes what; from there it can be written down as well."""
    with opened(browser, here) as page:
        go(page, here, "choose")
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
        go(page, here, "write")
        page.locator("#text").fill(MINE.replace("1 (2)", "1 3"))
        page.wait_for_selector(".trouble")
        nothing_hinders(page)
        kept = page.request.post(f"{here.origin}/api/passage/write", data={"text": MINE}).json()
        go(page, here, f"practise/{kept['name']}")
        nothing_hinders(page)
        page.get_by_label("How fast").fill("1.2")
        page.get_by_role("button", name="Clap along").tap()
        page.wait_for_selector(".pad:not([hidden])")
        page.evaluate(CHATTER)
        nothing_hinders(page)
        for _ in range(4):
            page.locator(".pad").tap()
        assert page.evaluate("said") == []
        page.wait_for_selector("dl.said, .trouble", timeout=15_000)
        nothing_hinders(page)
        go(page, here, f"entry/{ENTRY}")
        page.get_by_role("button", name="Begin").tap()
        page.get_by_role("button", name="Go").wait_for()
        nothing_hinders(page)
        go(page, here, f"session/{RAG}")
        page.get_by_role("button", name="Begin").tap()
        page.get_by_role("button", name="Go").wait_for()
        nothing_hinders(page)
        for place in ("choose", "settings", "days", "class"):
            go(page, here, place)
            nothing_hinders(page)


def test_beats_are_chosen_and_moved_with_keys_alone(browser: Browser, here: Served) -> None:
    """A beat beside its stroke is put right without a mouse, and all is worked out again."""
    with opened(browser, here, size=PHONE) as page:
        brought = page.request.post(f"{here.origin}/api/bring?file=strokes.wav", data=strokes())
        name = brought.json()["name"]
        asked: dict[str, Any] = {"at": ["1=0.5", "5=4.5"], "bars": "1-5", "metre": "2/4"}
        page.request.post(f"{here.origin}/api/recording/{name}/beats", data=asked)
        go(page, here, f"recording//name={name}")
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
        page.wait_for_timeout(50)
        assert at_s(named.inner_text()) == pytest.approx(nearest_s, abs=0.006)
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
