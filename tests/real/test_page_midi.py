"""MIDI at the page: what the browser refuses, and what is played on keyboards and pads.

Chromium itself says that it was not allowed, or that this machine has no MIDI.  No machine that
runs tests has a keyboard plugged in: where one plays, ``STAND_IN`` stands for the browser's own
device API (W3C Web MIDI), with two inputs whose messages carry the time they were given.
"""

from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, expect

from tests.real.pages import PATIENCE_MS, SHOWN, Served, go, opened

STAND_IN = """
class StandIn extends EventTarget {
    constructor(id, name) {
        super();
        Object.assign(this, { id, name, type: "input", state: "disconnected", connection: "closed" });
    }
    async open() { this.connection = "open"; return this; }
    async close() { this.connection = "closed"; return this; }
}
const access = Object.assign(new EventTarget(), { inputs: new Map(), outputs: new Map() });
window.midi = {
    plug(id, name) {
        const input = access.inputs.get(id) || new StandIn(id, name);
        access.inputs.set(id, input);
        this.tell(input, "connected");
    },
    unplug(id) { this.tell(access.inputs.get(id), "disconnected"); },
    tell(port, state) {
        port.state = state;
        access.dispatchEvent(Object.assign(new Event("statechange"), { port }));
    },
    send(id, bytes, stamp = performance.now()) {
        const input = access.inputs.get(id);
        if (input.connection !== "open" || input.state !== "connected") return;
        const message = Object.assign(new Event("midimessage"), { data: new Uint8Array(bytes) });
        Object.defineProperty(message, "timeStamp", { value: stamp });
        input.dispatchEvent(message);
    },
};
Object.defineProperty(Navigator.prototype, "requestMIDIAccess", { value: async () => access });
"""
NO_MIDI = "delete Navigator.prototype.requestMIDIAccess;"
# The millisecond of the page's clock at which the track's first sample was heard.
BEGUN = """async (start_s) => {
    const { audio } = await import("/static/sound/player.js");
    const stamps = [];
    for (let k = 0; k < 40; k += 1) {
        const stamp = audio().getOutputTimestamp();
        stamps.push(stamp.performanceTime - stamp.contextTime * 1000);
        await new Promise((done) => setTimeout(done, 10));
    }
    return stamps.sort((one, other) => one - other)[20] + start_s * 1000;
}"""
MINE = 'title = "Pads"\nmetre = "4/4"\ntempo = 120\nrhythm = "1 2 3 4 | 1 (2) 3 4"\n'
PAD, KEYBOARD = "pad", "keyboard"
ATTEMPTS, MOST_OFF_S, HELD_S = 5, 0.003, 0.5


def clapping(page: Page, here: Served) -> None:
    """Go where two bars are practised, somewhat slowly, with MIDI."""
    kept = page.request.post(f"{here.origin}/api/passage/write", data={"text": MINE}).json()
    go(page, f"practise/{kept['name']}")
    page.get_by_label("How fast").fill("0.7")
    page.get_by_label("Count-in").select_option("0")
    page.get_by_label("I clap with").select_option("midi")


def begun(page: Page) -> tuple[dict[str, Any], float]:
    """Begin to clap along; return the track and the millisecond at which it begins to be heard."""
    with page.expect_response("**/api/track") as made, page.expect_request("**/api/take") as took:
        page.get_by_role("button", name="Clap along").click()
    asked: Any = took.value.post_data_json
    return made.value.json(), page.evaluate(BEGUN, asked["start_s"])


@pytest.mark.parametrize(
    ("permissions", "script", "words"),
    [
        ([], "", "allow it for this page"),
        (["midi", "midi-sysex"], "", "could not be opened"),
        ([], NO_MIDI, "hears no MIDI"),
        ([], STAND_IN, "plug it in and try again"),
    ],
    ids=["refused", "a machine without", "a browser without", "nothing plugged in"],
)
def test_midi_that_cannot_be_heard_is_said_with_what_to_do(
    browser: Browser, here: Served, permissions: list[str], script: str, words: str
) -> None:
    """The browser's own error is no sentence for a musician; nothing plays, all can be pressed."""
    with opened(browser, here, permissions=permissions, script=script) as page:
        clapping(page, here)
        page.get_by_role("button", name="Clap along").click()
        page.wait_for_selector("#say:not(:empty)")
        assert words in page.locator("#say").inner_text()
        assert page.get_by_role("button", name="Clap along").is_enabled()
        assert page.get_by_role("button", name="Stop").count() == 0


def _played_on_both(page: Page) -> tuple[dict[str, Any], list[list[Any]], list[float]]:
    """Play every note, in turn on one and the other; return what was heard, what was sent, and when."""
    track, begun_ms = begun(page)
    sent: list[list[Any]] = []
    page.on("request", lambda asked: _gather(asked, sent))
    notes = [note["time_s"] for note in track["notes"]]
    played: list[list[Any]] = []
    for number, at_s in enumerate(notes):
        mine = (PAD, KEYBOARD)[number % 2]
        at_ms = begun_ms + at_s * 1000
        let_go = [0x90, 60, 0] if number % 3 else [0x80, 60, 64]
        for stamp, message in (
            (at_ms, [0x90, 60, 20 + number]),
            (at_ms + 10, [0xB0, 64, 127]),
            (at_ms + 20, [0xF8]),
            (at_ms + 460, let_go),
            (at_ms + 500, [0xB0, 64, 0]),
        ):
            played.append([mine, message, stamp])
    with page.expect_response("**/end") as ended:
        page.evaluate("(all) => all.forEach((told) => midi.send(...told))", played)
    document: dict[str, Any] = ended.value.json()["document"]
    return document, [tap for each in sent for tap in each], notes


def test_two_pads_are_heard_by_the_time_of_their_messages(browser: Browser, here: Served) -> None:
    """Notes on both, let go by either way there is, and messages that are no notes.

    A browser's sound without a sound card is held up by a busy machine, and its clock with it: then
    nobody knows beforehand when a note is due, and all is played again.
    """
    off_s: list[float] = []
    document: dict[str, Any] = {}
    while len(off_s) < ATTEMPTS and min(off_s, default=MOST_OFF_S) >= MOST_OFF_S:
        with opened(browser, here, script=STAND_IN) as page:
            page.evaluate("midi.plug('pad', 'A pad'); midi.plug('keyboard', 'A keyboard')")
            clapping(page, here)
            document, taps, notes = _played_on_both(page)
        assert len({what for _, what, _, _ in taps}) == len((PAD, KEYBOARD))
        assert [hard for *_, hard in sorted(taps) if hard] == [20 + k for k in range(len(notes))]
        onsets = np.array(document["take"]["onsets"])
        assert len(onsets) == len(notes)
        off_s.append(float(np.median(np.abs(onsets - notes))))
        ends = sorted(at for at, _, _, hard in taps if hard is None)
        begins = sorted(at for at, _, _, hard in taps if hard)
        # The finger lets go after 460 ms, the foot after 500.
        assert np.subtract(ends, begins) == pytest.approx([HELD_S] * len(notes), abs=0.001)
    assert min(off_s) < MOST_OFF_S, off_s
    assert document["tally"]["missed"] == document["tally"]["extra"] == 0
    assert {each["verdict"] for each in document["notes"]} == {"in time"}


def _gather(asked: Any, sent: list[list[Any]]) -> None:
    """Keep the taps that a request takes along, each part once."""
    if "/api/take/" not in asked.url or "json" not in asked.headers.get("content-type", ""):
        return
    told = asked.post_data_json
    for part in told.get("parts", [told]):
        if part.get("taps") and part["taps"] not in sent:
            sent.append(part["taps"])


def test_a_pad_that_is_unplugged_ends_the_take_and_is_missed_no_further(
    browser: Browser, here: Served
) -> None:
    """With another left the take goes on; with none it ends there, and what was played counts."""
    with opened(browser, here, script=STAND_IN) as page:
        page.evaluate("midi.plug('pad', 'A pad'); midi.plug('keyboard', 'A keyboard')")
        clapping(page, here)
        page.get_by_label("How fast").fill("0.4")
        track, begun_ms = begun(page)
        first, second, *_ = [begun_ms + note["time_s"] * 1000 for note in track["notes"]]
        page.wait_for_function("(at) => performance.now() > at + 150", arg=second)
        page.evaluate("(at) => midi.send('pad', [0x90, 60, 90], at)", first)
        page.evaluate("midi.unplug('pad')")
        assert "A pad was unplugged" in page.locator("#say").inner_text()
        assert page.get_by_role("button", name="Stop").count() == 1
        page.evaluate("(at) => midi.send('keyboard', [0x90, 62, 90], at)", second)
        with page.expect_response("**/end") as ended:
            page.evaluate("midi.unplug('keyboard')")
        page.wait_for_selector("dl.said, .trouble")
        assert "begin again" in page.locator("#say").inner_text()
        asked: Any = ended.value.request.post_data_json
        assert asked["stopped"] is True
        if ended.value.ok:
            assert len(ended.value.json()["document"]["take"]["onsets"]) == len((first, second))
        page.evaluate("midi.plug('pad', 'A pad')")
        page.get_by_role("button", name="Clap along").click()
        page.wait_for_selector(".frame:not([hidden])")
        page.evaluate("midi.send('pad', [0x90, 60, 90])")
        assert page.locator(".clap").count() == 1
        page.keyboard.press("Escape")
        page.wait_for_selector("dl.said, .trouble")


def test_the_device_that_is_chosen_is_heard_alone_and_remembered(
    browser: Browser, here: Served
) -> None:
    """A piano that stands beside the pad may be played on meanwhile; the choice is there tomorrow."""
    with opened(browser, here, script=STAND_IN) as page:
        page.evaluate("midi.plug('pad', 'A pad'); midi.plug('keyboard', 'A keyboard')")
        clapping(page, here)
        page.get_by_role("button", name="Which MIDI device").press("Enter")
        choice = page.get_by_label("Which MIDI device")
        expect(choice.locator("option")).to_have_text(
            ["every one", "A pad", "A keyboard"], timeout=PATIENCE_MS
        )
        choice.select_option("A pad")
        page.reload()
        page.wait_for_selector(SHOWN)
        page.evaluate("midi.plug('keyboard', 'A keyboard')")
        page.get_by_role("button", name="Clap along").click()
        page.wait_for_selector("#say:not(:empty)")
        assert "A pad is not plugged in" in page.locator("#say").inner_text()
        page.evaluate("midi.plug('pad', 'A pad')")
        page.get_by_label("How fast").fill("0.4")
        track, begun_ms = begun(page)
        sent: list[list[Any]] = []
        page.on("request", lambda asked: _gather(asked, sent))
        due = [begun_ms + note["time_s"] * 1000 for note in track["notes"]][:3]
        page.wait_for_function("(at) => performance.now() > at + 150", arg=due[-1])
        mine = [["pad", [0x90, 60, 80], at] for at in due]
        other = [["keyboard", [0x90, 60, 70], at + 100] for at in due]
        with page.expect_response("**/end"):
            page.evaluate("(all) => all.forEach((told) => midi.send(...told))", [*other, *mine])
            page.evaluate("midi.unplug('pad')")
        assert [hard for part in sent for *_, hard in part] == [80] * len(due)
        page.wait_for_selector("dl.said, .trouble")
        assert "A pad was unplugged: what you played" in page.locator("#say").inner_text()
        go(page, "settings")
        page.get_by_label("I clap with").select_option("midi")
        page.get_by_role("button", name="Which MIDI device").press("Enter")
        expect(page.get_by_label("Which MIDI device").locator("option:checked")).to_have_text(
            "the one you chose (not plugged in)", timeout=PATIENCE_MS
        )
