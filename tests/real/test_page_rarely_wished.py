"""The page in a real browser: what few people wish for, in the place where they look for it."""

import json
from typing import Any

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser, Page, expect

from tests.real.pages import PATIENCE_MS, Served, fits_its_width, go, opened

RAG = "supplied:29-towpath-rag"
PHONE = (390, 844)
# Two microphones and two loudspeakers; what is asked of the browser is written down.
DEVICES = """
const named = (kind, deviceId, label) => ({ kind, deviceId, label, groupId: "", toJSON() { return this; } });
navigator.mediaDevices.enumerateDevices = async () => [
    named("audioinput", "default", "Default"), named("audioinput", "one", "Desk microphone"),
    named("audioinput", "two", "Headset"), named("audiooutput", "box", "Box on the shelf"),
];
const open = navigator.mediaDevices.getUserMedia.bind(navigator.mediaDevices);
window.asked = [];
navigator.mediaDevices.getUserMedia = (wish) => { asked.push(wish.audio); return open({ audio: true }); };
AudioContext.prototype.setSinkId = async function (id) { window.sink = id; };
"""


def check_within_reach(page: Page) -> None:
    """Fail where a person who hears the page, or has a phone, is shut out."""
    found = Axe().run(page).response["violations"]
    assert [each["id"] for each in found if each["impact"] in ("serious", "critical")] == []
    fits_its_width(page)


def test_a_microphone_and_a_loudspeaker_are_chosen_by_name(browser: Browser, here: Served) -> None:
    """Who has a headset beside the machine's own says which, once, and it is used."""
    with opened(browser, here, size=PHONE, script=DEVICES) as page:
        go(page, "settings")
        page.get_by_role("button", name="Which loudspeaker").press("Enter")
        page.get_by_label("Which loudspeaker").select_option("Box on the shelf")
        check_within_reach(page)
        go(page, f"practise/{RAG}")
        assert not page.get_by_role("button", name="Which microphone").is_visible()
        page.get_by_label("I clap with").select_option("the microphone")
        page.get_by_role("button", name="Which microphone").press("Enter")
        choice = page.get_by_label("Which microphone")
        expect(choice.locator("option")).to_have_text(
            ["as the browser has it", "Desk microphone", "Headset"], timeout=PATIENCE_MS
        )
        choice.select_option("Headset")
        check_within_reach(page)
        page.get_by_role("button", name="Clap along").click()
        page.get_by_role("button", name="Stop").wait_for()
        page.wait_for_function("() => asked.length && asked.at(-1).deviceId?.exact === 'two'")
        page.wait_for_function("() => window.sink === 'box'")


def test_what_is_rarely_wished_is_found_in_its_place(browser: Browser, here: Served) -> None:
    """One sheet of several passages, the numbers of a session, takes judged again, changing metres."""
    with opened(browser, here, size=PHONE) as page:
        page.get_by_text("Make one pack of several passages, or one sheet").click()
        page.get_by_label("Stepping Stones").check()
        page.get_by_label("Morning Walk").check()
        page.get_by_text("Finer: tempi, sound, sheet").click()
        page.get_by_label("One sheet is").select_option("pictures (PNG)")
        page.get_by_role("button", name="One sheet to print").click()
        with page.expect_download() as saved:
            page.get_by_role("link", name="Take the sheet away").click()
        assert saved.value.suggested_filename == "2-passages-sheet.png"
        check_within_reach(page)
        go(page, f"session/{RAG}")
        page.get_by_text("By which numbers, and why").press("Enter")
        slow = page.get_by_label("slow: share of the written tempo")
        expect(slow).to_have_value("0.6", timeout=PATIENCE_MS)
        assert "supported by Duke" in page.locator("ul.numbers").inner_text()
        slow.fill("0.5")
        with page.expect_response("**/api/numbers") as kept:
            page.keyboard.press("Tab")
        assert kept.value.json()["numbers"][1]["value"] == 0.5
        page.get_by_label("order: in which order").select_option("mix")
        check_within_reach(page)
        page.get_by_role("button", name="Set all of them as usual").click()
        expect(slow).to_have_value("0.6", timeout=PATIENCE_MS)
        go(page, f"practise/{RAG}")
        page.get_by_text("Take away: sheets, tracks, packs").click()
        page.get_by_text("A sheet as a picture or a drawing").click()
        with page.expect_download() as drawn:
            page.get_by_role("link", name="a drawing (SVG)").click()
        assert drawn.value.suggested_filename.endswith("-sheet.svg")
        check_within_reach(page)
        go(page, "write")
        page.get_by_text("More: changing metres, an upbeat").press("Enter")
        page.get_by_label("Metres bar by bar").fill("2/4 3/4")
        page.get_by_label("The first clap is on").fill("2")
        check_within_reach(page)
        page.get_by_role("button", name="Clap one in").press("Enter")
        with page.expect_request("**/api/passage/clapped") as asked:
            clap_six(page)
        sent: dict[str, Any] = json.loads(asked.value.post_data or "")
        assert (sent["metre"], sent["first"], len(sent["taps"])) == ("2/4 3/4", "2", 6)
        page.locator("textarea").wait_for()


def clap_six(page: Page) -> None:
    """Clap six beats as the system's stamps of keys say it, and end it."""
    page.evaluate("""() => {
        for (let k = 0; k < 6; k += 1) {
            const event = new KeyboardEvent("keydown", { key: "k", code: "KeyK", bubbles: true, cancelable: true });
            Object.defineProperty(event, "timeStamp", { value: 1000 + 700 * k });
            document.activeElement.dispatchEvent(event);
        }
    }""")
    page.keyboard.press("Escape")
