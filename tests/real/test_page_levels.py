"""What one hears at the page is moved while it plays: in the sound, and in what is told of a take.

What goes to the loudspeaker is measured on its way there: ``METER`` hangs a meter beside it.
"""

from typing import Any

from playwright.sync_api import Browser, Page

from tests.real.pages import Served, go, opened

METER = """
const connect = AudioNode.prototype.connect;
AudioNode.prototype.connect = function (to, ...more) {
    if (to instanceof AudioDestinationNode) {
        if (!to.meter) {
            to.meter = new AnalyserNode(to.context, { fftSize: 2048 });
            window.loudest = () => {
                const samples = new Float32Array(2048);
                to.meter.getFloatTimeDomainData(samples);
                return Math.max(...samples.map(Math.abs));
            };
        }
        connect.call(this, to.meter);
    }
    return connect.call(this, to, ...more);
};
"""
LOUDEST = """async (for_ms) => {
    let loudest = 0;
    for (const until = performance.now() + for_ms; performance.now() < until;) {
        loudest = Math.max(loudest, window.loudest());
        await new Promise(requestAnimationFrame);
    }
    return loudest;
}"""
BEAT_MS = 1000 * 60 / (72 * 0.6) + 100
LAYERS = {"clapped rhythm": "clap", "click": "click", "spoken count": "count"}


def levels_told(page: Page, told: list[Any]) -> None:
    """Gather the levels that go to the program with a take."""

    def gather(asked: Any) -> None:
        if "/api/take" in asked.url and "json" in asked.headers.get("content-type", ""):
            sent: Any = asked.post_data_json
            for part in (sent, *sent.get("parts", [])):
                told.extend(part.get("levels", []))

    page.on("request", gather)


def test_what_is_switched_off_while_it_plays_is_silent_and_told_of(
    browser: Browser, here: Served
) -> None:
    """A microphone's take knows when each layer stopped, so that it is taken out until then."""
    told: list[Any] = []
    with opened(browser, here, script=METER) as page:
        go(page, "practise/supplied:29-towpath-rag")
        page.get_by_label("Count-in").select_option("0")
        page.get_by_label("I clap with").select_option("mic")
        levels_told(page, told)
        with page.expect_request("**/api/take"):
            page.get_by_role("button", name="Clap along").click()
        page.get_by_role("button", name="Stop").wait_for()
        page.wait_for_function("() => window.loudest() > 0.05")
        begun_s = min(at for at, _, _ in told)
        page.get_by_label("How loud: click").fill("0.25")
        for words in LAYERS:
            page.get_by_label(words, exact=True).uncheck()
        # What was on its way to the loudspeaker is heard still, for less than a sound of it lasts.
        page.wait_for_function("() => window.loudest() === 0")
        assert page.evaluate(LOUDEST, BEAT_MS) == 0
        for _ in range(2):
            with page.expect_response("**/on"):
                pass
        page.keyboard.press("Escape")
        page.wait_for_selector("dl.said, .trouble")
    moved = [(layer, gain) for at, layer, gain in told if at > begun_s]
    assert ("click", 0.25) in moved
    assert {(layer, 0) for layer in LAYERS.values()} <= set(moved)
