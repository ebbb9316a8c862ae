"""What lights up and moves on the page while it plays: little, and nothing for who wants it so."""

from typing import Any

import pytest
from playwright.sync_api import Browser, Page

from tests.real.pages import Served, go, opened

MOST_A_SECOND = 3
# Counts and frames of a passage at a steady tempo, every screen's step of sixty seconds: how often
# each changes to something else that is seen, and the most of these within any second.
FLASHES = """async ({ beat_s, beats, screen_s }) => {
    const { Counting } = await import("/static/stand/counting.js");
    const { lasts } = await import("/static/calm.js");
    const { Track } = await import("/static/sound/player.js");
    const bars = Array.from({ length: 200 }, (_, k) => {
        const start = k * beat_s * beats;
        const told = Array.from({ length: beats }, (__, n) => ({ time_s: start + n * beat_s, say: String(n + 1), at: n }));
        return { index: k, number: k + 1, in_words: `bar ${k + 1}`, start_s: start, stop_s: start + beat_s * beats, run: 1, beats: told };
    });
    const track = new Track({ bars, layers: [] });
    const counting = new Counting();
    counting.begin(track);
    const lit = { number: [], frame: [] };
    let before = { number: "", frame: null };
    for (let now = 0.001; now < Math.min(60, bars[199].stop_s); now += screen_s) {
        counting.show(now);
        const bar = track.barAt(now);
        const seen = { number: counting.number.textContent, frame: lasts(bar) ? bar.index : null };
        for (const what of ["number", "frame"]) if (seen[what] !== before[what] && seen[what] !== "" && seen[what] !== null) lit[what].push(now);
        before = seen;
    }
    const most = (times) => Math.max(0, ...times.map((from) => times.filter((at) => at >= from && at < from + 1).length));
    return { number: most(lit.number), frame: most(lit.frame), lit: lit.number.length };
}"""
# Every change of the number and the frame that is seen, with its time, while something really plays.
WATCH = """() => {
    window.lit = [];
    const [number, frame] = [document.querySelector(".count .number"), document.querySelector(".frame")];
    const before = {};
    const look = () => {
        const seen = { number: number.textContent, frame: frame.hidden ? "" : frame.style.cssText };
        for (const what of ["number", "frame"]) {
            if (what in before && seen[what] !== before[what]) window.lit.push([what, performance.now() / 1000, seen[what]]);
            before[what] = seen[what];
        }
        requestAnimationFrame(look);
    };
    look();
}"""
# Comes back once something has sounded for so many seconds.
SOUNDS = """async (seconds) => {
    const { audio } = await import("/static/sound/player.js");
    const wait = () => new Promise((done) => setTimeout(done, 20));
    while (![...document.querySelectorAll("button")].some((each) => each.innerText === "Stop")) await wait();
    const until = audio().currentTime + 0.3 + seconds;
    while (audio().currentTime < until) await wait();
}"""
FASTEST = (
    'title = "Too fast"\nmetre = "1/8"\ntempo = 300\nbeat = "eighth"\nrhythm = "'
    + "1 | " * 39
    + '1"\n'
)


def listening(page: Page, here: Served, text: str) -> None:
    """Keep the passage ``text`` and go where it is practised."""
    name = page.request.post(f"{here.origin}/api/passage/write", data={"text": text}).json()["name"]
    go(page, f"practise/{name}")


def test_at_no_tempo_does_anything_light_up_more_than_three_times_a_second(
    browser: Browser, here: Served
) -> None:
    """WCAG 2.3.1, at every tempo from slow to the fastest, on slow and on quick screens."""
    with opened(browser, here) as page:
        lit = 0
        for tempo in (30, 60, 120, 171, 175, 180, 181, 240, 360, 720):
            for beats, screen_s in ((1, 1 / 60), (2, 1 / 60), (4, 1 / 30), (3, 1 / 144)):
                asked = {"beat_s": 60 / tempo, "beats": beats, "screen_s": screen_s}
                most = page.evaluate(FLASHES, asked)
                assert max(most["number"], most["frame"]) <= MOST_A_SECOND, (tempo, asked, most)
                lit += most["lit"]
        assert lit > 100


def test_what_really_plays_at_the_fastest_speed_stays_calm(browser: Browser, here: Served) -> None:
    """Bars of a sixth of a second: neither the frame nor the number runs after them."""
    with opened(browser, here) as page:
        listening(page, here, FASTEST)
        page.get_by_label("How fast").fill("1.2")
        page.evaluate(WATCH)
        page.get_by_role("button", name="Play", exact=True).click()
        page.evaluate(SOUNDS, 2)
        seen: list[Any] = page.evaluate("lit")
        page.keyboard.press("Escape")
    for what in ("number", "frame"):
        times = [at for name, at, _ in seen if name == what]
        most = max((sum(at <= each < at + 1 for each in times) for at in times), default=0)
        # A change takes away what was there and shows what comes.
        assert most <= 2 * MOST_A_SECOND, (what, times)


def test_who_wants_neither_frame_nor_number_gets_none(browser: Browser, here: Served) -> None:
    """Set once, it holds in every place."""
    with opened(browser, here) as page:
        go(page, "settings")
        page.get_by_label("no frame and no number while it plays").check()
        go(page, "practise/supplied:29-towpath-rag")
        page.get_by_label("Count-in").select_option("0")
        page.evaluate(WATCH)
        page.get_by_role("button", name="Play", exact=True).click()
        page.evaluate(SOUNDS, 2)
        assert page.locator(".frame").is_hidden()
        assert page.locator(".count .number").inner_text() == ""
        assert page.evaluate("lit.filter(([what]) => what === 'number').length") == 0
        page.keyboard.press("Escape")


def test_who_wants_less_motion_sees_the_line_and_nothing_that_moves(
    browser: Browser, here: Served
) -> None:
    """The frame holds a whole line, and stays while its bars go by; nothing is animated."""
    with opened(browser, here, reduced_motion="reduce") as page:
        go(page, "practise/supplied:29-towpath-rag")
        page.get_by_label("Count-in").select_option("0")
        page.evaluate(WATCH)
        page.get_by_role("button", name="Play", exact=True).click()
        page.wait_for_selector(".frame:not([hidden])")
        wide = page.locator(".frame").bounding_box()
        line = page.locator(".line").first.bounding_box()
        assert wide is not None
        assert line is not None
        assert wide["width"] == pytest.approx(line["width"], abs=8)
        page.evaluate(SOUNDS, 3.5)
        assert page.evaluate("lit.filter(([what]) => what === 'frame').length") <= 2
        assert page.evaluate("document.getAnimations().length") == 0
        page.evaluate("document.body.style.transition = 'opacity 9s'")
        assert page.evaluate("getComputedStyle(document.body).transitionDuration") in ("0s", "")
        page.keyboard.press("Escape")


def test_letters_and_notes_grow_when_they_are_set_larger(browser: Browser, here: Served) -> None:
    """Who reads from further away sees larger notes, not only larger words."""
    heights = []
    with opened(browser, here) as page:
        for size in ("1", "1.5"):
            page.evaluate("(size) => localStorage.setItem('size', size)", size)
            page.goto(f"{here.origin}/#practise/supplied:29-towpath-rag")
            page.reload()
            page.wait_for_selector("svg.system .notehead")
            box = page.locator("svg.system .notehead").first.bounding_box()
            assert box is not None
            heights.append(box["height"])
    assert heights[1] > 1.4 * heights[0]
