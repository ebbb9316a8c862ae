"""The page in a real browser: a recording brought, the cue heard, takes judged again and carried away."""

import json
from pathlib import Path

import numpy as np
import soundfile
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Browser

from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.real.pages import Served, go, opened
from tests.simulate.performances import perform
from tests.simulate.piece_midi import midi_of
from tests.simulate.sounds import clap

RATE = 44_100
RAG = "supplied:29-towpath-rag"


def recorded(path: Path) -> None:
    """Write a recording of bars 1 to 4 at the tempo of the page, one clap late."""
    timeline = lay_out(find_passage("29-towpath-rag", "1-4"), Practice(speed=0.6))
    times = [float(timeline.track_seconds(note.at)) for note in timeline.notes]
    times[8] += 0.2
    rng = np.random.default_rng(11)
    sound = rng.normal(0, 1e-4, round((times[-1] + 1.5) * RATE))
    for time in times:
        one = 0.4 * clap(rng, RATE)
        sound[round(time * RATE) : round(time * RATE) + len(one)] += one
    soundfile.write(path, sound, RATE)


def test_what_the_command_line_does_besides_is_done_on_the_page(
    browser: Browser, here: Served, tmp_path: Path
) -> None:
    """A recording of oneself is heard and kept, judged again, carried away; a cue is said and sounds."""
    file = tmp_path / "me.wav"
    recorded(file)
    with opened(browser, here) as page:
        go(page, f"practise/{RAG}")
        page.get_by_label("to", exact=True).fill("4")
        page.get_by_role("button", name="Take these").click()
        page.get_by_role("button", name="All bars").wait_for()
        page.get_by_text("Have a recording of yourself heard").click()
        page.get_by_label("the recording", exact=True).set_input_files(file)
        page.wait_for_selector("dl.said")
        assert page.locator(".mark", has_text="▶").count() == 1
        assert "late" in page.locator("[aria-label='What was heard']").inner_text()
        go(page, "days")
        page.get_by_role("button", name="judge again").click()
        page.locator("pre.told", has_text="as it was told then").wait_for()
        page.get_by_text("Keep the takes elsewhere").click()
        with page.expect_download() as saved:
            page.get_by_role("link", name="all takes as one file").click()
        assert saved.value.suggested_filename == "takes.jsonl"
        go(page, "entry/supplied:28-towpath-entry")
        page.get_by_role("button", name="What is played before it").click()
        page.get_by_text("you come in on the and of 2").wait_for()
        sound = page.locator("audio")
        assert (
            sound.evaluate(
                "(each) => new Promise((go) => { each.oncanplay = () => go(each.duration); each.load(); })"
            )
            > 8
        )
        found = Axe().run(page).response["violations"]
        assert [each["id"] for each in found if each["impact"] in ("serious", "critical")] == []


def test_finer_wishes_and_the_pianists_notes_are_given_at_the_page(
    browser: Browser, here: Served, tmp_path: Path
) -> None:
    """Four clicks to a beat are asked for; a whole recording is mapped by a file of its notes."""
    played = perform(7, expressive=False, bars=8)
    sound, notes = tmp_path / "piano.flac", tmp_path / "piano.mid"
    soundfile.write(sound, played.sound, played.rate)
    notes.write_bytes(midi_of(played.piece))
    with opened(browser, here) as page:
        go(page, f"practise/{RAG}")
        page.get_by_text("Finer: the count, the click").click()
        page.get_by_label("The click is on").select_option("4")
        found = Axe().run(page).response["violations"]
        assert [each["id"] for each in found if each["impact"] in ("serious", "critical")] == []
        with page.expect_request("**/api/track") as asked:
            page.get_by_role("button", name="Play", exact=True).click()
        assert json.loads(asked.value.post_data or "")["subdivide"] == 4
        go(page, "choose")
        page.get_by_label("Bring a score or a recording").set_input_files(sound)
        page.locator("summary", has_text="I have the accompanist").click()
        found = Axe().run(page).response["violations"]
        assert [each["id"] for each in found if each["impact"] in ("serious", "critical")] == []
        page.get_by_label("the notes", exact=True).set_input_files(notes)
        page.get_by_text("beats were found").wait_for()
        assert page.get_by_label("bars", exact=True).input_value() == "1-8"
