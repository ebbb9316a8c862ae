"""The page before a microphone: a recording whose claps are known stands for the player."""

import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from urllib.parse import parse_qs, urlsplit

import numpy as np
import pytest
import soundfile
from numpy.typing import NDArray
from playwright.sync_api import Page, Request, Response, Route

from rhythmtrain.cli.main import run
from rhythmtrain.storage.history.history import open_history
from tests.real.pages import PATIENCE_MS, SHOWN, Served, chromium, go, opened, served, settled
from tests.simulate.sounds import clap

RATE = 44_100
BEGINS_S = 0.9
MOST_BYTES = 64 * 1024
MOST_LOST, ATTEMPTS = 0.4 * RATE, 4
UNANSWERED_S = 2.0
# Keeps what the page says as it closes, and lets the clock be seen that it goes by.
LEFT = """
    window.AudioContext = class extends AudioContext {
        constructor(...told) { super(...told); window.context = this; }
    };
    const send = navigator.sendBeacon.bind(navigator);
    const Parts = window.Blob;
    window.Blob = class extends Parts {
        constructor(parts, ...more) { super(parts, ...more); this.parts = parts; }
    };
    const said = (parts) => (typeof parts[0] === "string" ? parts[0] : said(parts[0].parts));
    navigator.sendBeacon = (path, body) => {
        const left = JSON.parse(localStorage.getItem("left") || "[]");
        const took = send(path, body);
        left.push([body.size, took, JSON.parse(said(body.parts)), context.currentTime * context.sampleRate]);
        localStorage.setItem("left", JSON.stringify(left));
        return took;
    };
"""
Sound = NDArray[np.float32]


def player(file: Path, bleed: float) -> list[float]:
    """Write what a microphone hears of a player who claps two bars; return when, in track time.

    The track itself sounds ``bleed`` times as loud as it was made, from second ``BEGINS_S`` on.
    """
    made = file.with_name("track.wav")
    options = ["--bars", "1-2", "--speed", "0.6", "--layers", "clap,click,count"]
    assert run(["track", "29-towpath-rag", "-o", str(made), *options]) == 0
    track, _ = soundfile.read(made, dtype="float32", always_2d=True)
    rng = np.random.default_rng(5)
    beat_s = 60 / (72 * 0.6)
    places = [0, 0.25, 0.75, 1, 1.5, 2, 2.25, 2.75, 3, 3.5]
    times = [(2 + place) * beat_s + float(rng.normal(0, 0.012)) for place in places]
    sound = np.zeros(round((BEGINS_S + 3) * RATE) + len(track), np.float32)
    begins = round(BEGINS_S * RATE)
    sound[begins : begins + len(track)] += bleed * track[:, 0]
    sound += rng.normal(0, 2e-4, len(sound)).astype(np.float32)
    for time_s in times:
        one = 0.4 * clap(rng, RATE)
        at = begins + round(time_s * RATE)
        sound[at : at + len(one)] += one.astype(np.float32)
    soundfile.write(file, np.column_stack([sound, sound]), RATE, subtype="PCM_16")
    return times


def before_microphone(page: Page) -> None:
    """Choose bars 1 and 2, and the microphone."""
    go(page, "practise/supplied:29-towpath-rag")
    page.get_by_label("to", exact=True).fill("2")
    page.get_by_role("button", name="Take these").click()
    page.get_by_role("button", name="All bars").wait_for()
    page.get_by_label("I clap with").select_option("mic")


def clapped(page: Page) -> tuple[dict[str, Any], list[Request]]:
    """Clap bars 1 and 2 before the microphone; return what was heard, and what was sent for it."""
    before_microphone(page)
    sent: list[Request] = []
    page.on("request", lambda asked: sent.append(asked) if "/api/take" in asked.url else None)
    with page.expect_response("**/end") as ended:
        page.get_by_role("button", name="Clap along").click()
    page.wait_for_selector("dl.said, .trouble")
    return ended.value.json(), sent


def heard_by_the_page(sent: list[Request]) -> Sound:
    """Return what the page sent of the microphone, from the track's first frame on."""
    begun: Any = next(each.post_data_json for each in sent if each.url.endswith("/api/take"))
    start = round(begun["start_s"] * RATE)
    whole = np.zeros(60 * RATE, np.float32)
    for each in sent:
        if "/sound" in each.url:
            frame = int(parse_qs(urlsplit(each.url).query)["frame"][0]) - start
            samples = np.frombuffer(each.post_data_buffer or b"", "<i2") / 32_767
            kept = samples[max(0, -frame) :]
            whole[max(0, frame) : max(0, frame) + len(kept)] = kept
    return whole


def test_claps_before_a_microphone_lie_where_they_were_heard(here: Served, tmp_path: Path) -> None:
    """Headphones on: each clap lies within 10 ms of where it stands in what the page heard."""
    file = tmp_path / "player.wav"
    times = player(file, bleed=0.0)
    flag = f"--use-file-for-fake-audio-capture={file}%noloop"
    with chromium([flag]) as browser, opened(browser, here) as page:
        answer, sent = clapped(page)
    heard = heard_by_the_page(sent)
    played, _ = soundfile.read(file, dtype="float32", always_2d=True)
    many = 2 ** int(np.ceil(np.log2(len(heard) + len(played))))
    across = np.fft.irfft(np.fft.rfft(heard, many) * np.conj(np.fft.rfft(played[:, 0], many)), many)
    late = int(np.argmax(across))
    late = late - many if late > many // 2 else late
    wanted = np.array(times) + BEGINS_S + late / RATE
    onsets = np.array(answer["document"]["take"]["onsets"])
    wanted = wanted[wanted > 0]
    assert len(onsets) == len(wanted)
    assert np.abs(onsets - wanted).max() < 0.010
    assert np.median(np.abs(onsets - wanted)) < 0.003


def test_the_loudspeaker_tells_the_sound_delay(here: Served, tmp_path: Path) -> None:
    """Without headphones the track is heard too: it is taken out, and tells how late all is."""
    file = tmp_path / "player.wav"
    times = player(file, bleed=0.5)
    flag = f"--use-file-for-fake-audio-capture={file}%noloop"
    with chromium([flag]) as browser, opened(browser, here) as page:
        answer, _ = clapped(page)
    onsets = np.array(answer["document"]["take"]["onsets"])
    assert len(onsets) == len(times)
    assert np.abs(onsets - np.array(times)).max() < 0.010
    assert any("taken out" in line for line in answer["notes"])
    assert answer["document"]["tally"]["missed"] == 0


def leaving(page: Page, ready: Callable[[], bool] = lambda: True) -> list[Any]:
    """Clap before the microphone, leave the page after some seconds, once that is ``ready``.

    What it left behind is returned: how much it sent, whether the browser took it, what it said of it, and the frame that
    the page's clock showed.
    """
    page.add_init_script(LEFT)
    page.reload()
    page.wait_for_selector(SHOWN)
    before_microphone(page)
    page.get_by_role("button", name="Clap along").click()
    page.get_by_role("button", name="Stop").wait_for()
    page.wait_for_function("() => context.currentTime > 7")
    until = time.monotonic() + PATIENCE_MS / 1000
    while not ready():
        assert time.monotonic() < until
        page.wait_for_timeout(50)
    page.goto(page.url.split("#")[0] + "?again")
    page.wait_for_function("() => localStorage.getItem('left')")
    left: list[Any] = page.evaluate("JSON.parse(localStorage.getItem('left'))")
    return left


def finished(page: Page) -> list[Request]:
    """Return where the requests come to stand that brought sound and were answered.

    An answer counts when it begins, as it does for the page: of one whose end came as the page closed
    nobody is told that it ended.
    """
    arrived: list[Request] = []

    def answered(came: Response) -> None:
        if "/sound?" in came.url and came.ok:
            arrived.append(came.request)

    page.on("response", answered)
    return arrived


def came_until(arrived: list[Request], rows: list[list[int]]) -> int:
    """Return the frame up to which sound came: the farewell goes on where the last request ended."""
    ends = []
    for each in arrived:
        frame = int(parse_qs(urlsplit(each.url).query)["frame"][0])
        ends.append(frame + len(each.post_data_buffer or b"") // 2)
    assert rows[0][0] <= max(ends)
    return sum(rows[-1])


@pytest.fixture
def microphone(tmp_path: Path) -> tuple[list[float], str]:
    """Return when a player claps, and the flag that puts him before the microphone."""
    file = tmp_path / "player.wav"
    times = player(file, bleed=0.0)
    return times, f"--use-file-for-fake-audio-capture={file}%noloop"


def test_a_page_that_closes_leaves_its_last_sound_with_the_farewell(
    microphone: tuple[list[float], str], tmp_path_factory: pytest.TempPathFactory
) -> None:
    """What the microphone heard since the last time still arrives, and the take is in the history.

    A browser that was held up just then has not got all of it itself: it is tried again.
    """
    times, flag = microphone
    gaps: list[int] = []
    while len(gaps) < ATTEMPTS and min(gaps, default=MOST_LOST) >= MOST_LOST:
        home = tmp_path_factory.mktemp("home")
        with served(home) as here, chromium([flag]) as browser, opened(browser, here) as page:
            arrived = finished(page)
            (size, took, told, frame), *more = leaving(page)
            settled(here)
        assert not more
        assert took
        assert 0 < size <= MOST_BYTES
        gaps.append(frame - came_until(arrived, told["sound"]))
        with open_history(home) as history:
            (take,) = history.takes()
        assert 3 <= len(take.record.onsets) <= len(times)
    assert min(gaps) < MOST_LOST, gaps


def test_a_farewell_takes_along_what_fits_where_the_program_is_slow(
    here: Served, microphone: tuple[list[float], str]
) -> None:
    """Nothing was answered for seconds: two thirds of a second still come, the oldest ones."""
    _, flag = microphone
    with chromium([flag]) as browser, opened(browser, here) as page:
        arrived = finished(page)
        held: list[Route] = []
        held_s: list[float] = []

        def slow(route: Route) -> None:
            """Let the first parts through, and leave the rest without an answer."""
            if len(arrived) < 10:
                route.continue_()
            else:
                held.append(route)
                held_s.append(time.monotonic())

        page.route("**/sound?*", slow)
        (size, took, told, frame), *more = leaving(
            page, lambda: bool(held) and time.monotonic() > held_s[0] + UNANSWERED_S
        )
    assert not more
    assert took
    assert MOST_BYTES - 64 < size <= MOST_BYTES
    end = came_until(arrived, told["sound"])
    assert sum(many for _, many in told["sound"]) > 0.6 * RATE
    assert end < frame
