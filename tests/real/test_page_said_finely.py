"""The page in a real browser: what few people have to say of a take or of a practice can be said."""

from pathlib import Path
from urllib.parse import parse_qs, urlsplit

from playwright.sync_api import Browser, Page, ViewportSize

from rhythmtrain.rehearsal.checking.beside_recording import beside_recording
from rhythmtrain.rehearsal.checking.check import CheckWish
from rhythmtrain.rehearsal.passages.passages import whole_passage, wished_passage
from tests.real.pages import Served, fits_its_width, opened

RECORDED = "supplied:32-sluice-gate-rag"
ENTRY = "supplied:28-towpath-entry"
PHONE: ViewportSize = {"width": 390, "height": 844}


def at(page: Page, place: str) -> None:
    """Go to a place of the page."""
    page.goto(f"{page.url.split('#')[0]}#{place}")
    page.wait_for_selector("svg.system")


def test_a_take_with_the_recording_says_where_it_meets_it(
    browser: Browser, here: Served, tmp_path: Path
) -> None:
    """What was followed, how freely, from which second on: it goes with the file, and is heard so."""
    wish = CheckWish("32-sluice-gate-rag", timing="recording", speed=0.6)
    whole = whole_passage(wish.passage)
    laid = beside_recording(wish, wish.beside, wished_passage(wish), whole, start_s=None).timeline
    times = [float(laid.track_seconds(note.at)) + 1.5 for note in laid.notes]
    file = tmp_path / "take.txt"
    file.write_text("\n".join(f"{time:.4f}" for time in times), encoding="utf-8")
    with opened(browser, here) as page:
        at(page, f"practise/{RECORDED}")
        page.get_by_text("Have a recording of yourself heard").click()
        page.get_by_text("More", exact=True).click()
        freely = page.get_by_label("freely: only where you must meet it")
        assert not freely.is_visible()
        page.get_by_label("I followed").select_option("recording")
        freely.check()
        page.get_by_label("Bars to meet in").fill("14")
        page.get_by_label("Bar 1 begins at second").fill("1.5")
        with page.expect_request("**/api/heard?*") as sent:
            page.get_by_label("the recording", exact=True).set_input_files(file)
        said = parse_qs(urlsplit(sent.value.url).query)
        assert said["timing"] == ["recording"]
        assert (said["freely"], said["meet"], said["start"]) == (["true"], ["14"], ["1.5"])
        page.wait_for_selector("dl.said")
        page.set_viewport_size(PHONE)
        fits_its_width(page)


def test_a_practice_of_few_tries_is_begun(browser: Browser, here: Served) -> None:
    """Two tries before the bus leaves."""
    with opened(browser, here) as page:
        at(page, f"entry/{ENTRY}")
        page.get_by_text("How many tries").click()
        page.get_by_label("Tries at most").fill("2")
        with page.expect_request("**/api/entry") as sent:
            page.get_by_role("button", name="Begin").click()
        assert (sent.value.post_data_json or {})["tries"] == 2
        page.get_by_role("button", name="Go").wait_for()


def test_another_part_of_a_score_is_chosen(browser: Browser, here: Served, tmp_path: Path) -> None:
    """The violinist reads the violin's part, and finds it again where she left it."""
    bar = (
        '<measure number="1"><attributes><divisions>1</divisions><time><beats>2</beats>'
        "<beat-type>4</beat-type></time></attributes>{}</measure>"
    )
    note = "<note><pitch><step>C</step><octave>5</octave></pitch><duration>{}</duration></note>"
    parts = {"Clarinet": note.format(2), "Violin": note.format(1) * 2}
    names = "".join(
        f'<score-part id="{each}"><part-name>{each}</part-name></score-part>' for each in parts
    )
    music = "".join(
        f'<part id="{each}">{bar.format(notes)}</part>' for each, notes in parts.items()
    )
    file = tmp_path / "Duo.musicxml"
    file.write_text(
        f"<score-partwise><part-list>{names}</part-list>{music}</score-partwise>", "utf-8"
    )
    with opened(browser, here) as page:
        page.get_by_label("Bring a score or a recording").set_input_files(file)
        page.get_by_text("part 1 is taken: Clarinet").wait_for()
        page.wait_for_selector("svg.system")
        page.get_by_text("Whose part", exact=True).click()
        page.get_by_label("I play", exact=True).fill("Violin")
        page.get_by_role("button", name="Read it so").click()
        page.wait_for_url("**/*.toml")
        page.wait_for_selector("svg.system")
        shown = page.evaluate(
            "(at) => fetch(at).then((each) => each.json())",
            f"/api/passage?passage={page.url.rpartition('/')[2]}",
        )
        assert sum(sign["note"] for sign in shown["signs"]) == 2


def test_a_session_says_how_long_and_a_file_has_what_is_heard(
    browser: Browser, here: Served
) -> None:
    """Five minutes before the lesson; a track for the phone without the clapped rhythm."""
    with opened(browser, here) as page:
        at(page, f"session/{ENTRY}")
        page.get_by_text("How long, in which order").click()
        page.get_by_label("At most").fill("5")
        page.get_by_label("The tempi come").select_option("alternating")
        with page.expect_request("**/api/session") as sent:
            page.get_by_role("button", name="Begin").click()
        said = sent.value.post_data_json or {}
        assert (said["minutes"], said["order"]) == (5, "alternating")
        at(page, f"practise/{ENTRY}")
        page.get_by_label("clapped rhythm", exact=True).uncheck()
        page.get_by_text("Take away: sheets, tracks, packs").click()
        with page.expect_download() as saved:
            page.get_by_role("link", name="this track (MIDI)").click()
        layers = parse_qs(urlsplit(saved.value.url).query)["layers"]
        assert layers == ["click,count,cue"]
