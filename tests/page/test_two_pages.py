"""Two pages at once, one program: nobody gets what is another's, nobody loses what they set."""

import io
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier, Event
from typing import Any

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from rhythmtrain.page.desk import MOST_TRACKS, Desk
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.levels import as_heard
from rhythmtrain.rehearsal.desk.recordings import recordings
from rhythmtrain.rehearsal.desk.shelf import keep_written, shelf, take_away
from rhythmtrain.rehearsal.tracks.sound import RATE
from tests.page.asking import posted

RAG, WALK = "supplied:29-towpath-rag", "supplied:01-steady-quarters"


def player(browser: TestClient, passage: str, late_s: float) -> Callable[[], dict[str, Any] | None]:
    """Return what a page does, step by step: a track, a take, its claps one by one, its end."""
    told = posted(browser, "/api/track", passage=passage, bars="1-3")
    took = posted(browser, "/api/take", track=told["track"], source="keys", start_s=1.0)
    way = f"/api/take/{took['take']}"
    clock = [[at, at] for at in np.arange(1.0, 30.0, 0.5).tolist()]
    claps = iter([note["time_s"] + 1.0 + late_s for note in told["notes"]])
    parts = iter(range(1_000))

    def step() -> dict[str, Any] | None:
        for at in claps:
            taps = [[at, "Space", False, None], [at + 0.05, "Space", True, None]]
            part = {"part": next(parts), "taps": taps, "clock": [clock.pop(0), clock.pop(0)]}
            posted(browser, f"{way}/on", parts=[part])
            return None
        return posted(browser, f"{way}/end", stopped=False)

    return step


def to_the_end(step: Callable[[], dict[str, Any] | None]) -> dict[str, Any]:
    """Return what a page is told in the end."""
    while True:
        told = step()
        if told is not None:
            return told


def offsets(told: dict[str, Any]) -> list[float]:
    """Return how late each note was, in milliseconds."""
    return [note["offset_ms"] for note in told["document"]["notes"]]


def test_two_takes_at_once_are_each_their_own(browser: TestClient) -> None:
    """Two students at one machine's page: each is told of their own claps and passage."""
    pages = [player(browser, RAG, 0.03), player(browser, WALK, -0.02)]
    with ThreadPoolExecutor(2) as both:
        rag, walk = both.map(to_the_end, pages)
    assert (rag["passage"], walk["passage"]) == ("Towpath Rag, second strain", "Morning Walk")
    assert offsets(rag) == pytest.approx([30.0] * len(offsets(rag)), abs=0.5)
    assert offsets(walk) == pytest.approx([-20.0] * len(offsets(walk)), abs=0.5)
    assert rag["kept_as"] != walk["kept_as"]


def test_what_two_pages_set_at_once_is_set(browser: TestClient) -> None:
    """One sets the language, the other the names of notes: neither undoes the other."""
    with ThreadPoolExecutor(2) as both:
        for _ in range(12):
            posted(browser, "/api/settings", language="en", british=False)
            wishes = [{"language": "de"}, {"british": True}]
            list(both.map(lambda wish: posted(browser, "/api/settings", **wish), wishes))
            told = browser.get("/api/settings").json()
            assert (told["language"], told["british"]) == ("de", True)


def test_a_track_that_nobody_wants_any_more_leaves_no_sound_behind(
    browser: TestClient, desk: Desk
) -> None:
    """An evening of practice does not fill the disk; a page beside it keeps its track."""
    first = posted(browser, "/api/track", passage=WALK, bars="1")
    mine = posted(browser, "/api/track", passage=WALK, bars="1")
    stems = desk.tracks.get(first["track"]).stems.values()
    for _ in range(MOST_TRACKS - 1):
        posted(browser, "/api/delay/track")
        assert browser.get(f"/api/track/{mine['track']}/clap").status_code == 200
    assert not any(path.exists() for path in stems)
    assert len(list(desk.sitting.passing.glob("*.flac"))) <= 5 * MOST_TRACKS


def test_a_layer_that_was_moved_is_taken_out_as_it_sounded(browser: TestClient, desk: Desk) -> None:
    """The microphone hears the click stop in the middle: what is subtracted stops there too."""
    told = posted(browser, "/api/track", passage=RAG, bars="1-2")
    made = desk.tracks.get(told["track"])
    start_s, moved_s = 4.0, 2.5
    levels = [(start_s, layer, 1.0) for layer in made.stems]
    levels += [(start_s, "tune", 0.0), (start_s + moved_s, "click", 0.25)]
    heard = as_heard(made, levels, start_s)
    wanted = np.zeros(len(heard), np.float32)
    for layer, path in made.stems.items():
        sound, _ = soundfile.read(path, dtype="float32", always_2d=True)
        stem = sound.mean(axis=1) * (layer != "tune")
        if layer == "click":
            assert np.abs(stem[round(moved_s * RATE) :]).max() > 0.1
            stem[round(moved_s * RATE) :] *= 0.25
        wanted[: len(stem)] += stem
    assert np.abs(heard - wanted).max() < 1e-4


def test_what_one_page_brings_and_takes_away_troubles_no_other(desk: Desk) -> None:
    """One tidies up, others look at the same lists: none of them fails."""
    text = 'title = "Mine"\nmetre = "4/4"\ntempo = 60\nrhythm = "1 2 3 4"\n'
    # It has a name, and nothing is there: as one that goes while it is listed.
    (desk.sitting.folders.recordings / "gone.wav").symlink_to("nowhere")
    tidied = Event()

    def looked_on() -> int:
        times = 0
        while not tidied.is_set():
            assert not recordings(desk.sitting)["recordings"]
            assert len(shelf(desk.sitting)["own"]) <= 1
            times += 1
        return times

    with ThreadPoolExecutor(3) as pages:
        looking = [pages.submit(looked_on) for _ in range(3)]
        for _ in range(150):
            name = keep_written(desk.sitting, Asked({"text": text}))["name"]
            take_away(desk.sitting, Asked({"name": name}))
        tidied.set()
        assert all(each.result() for each in looking)


def test_a_word_that_two_pages_bring_at_once_is_kept_once(browser: TestClient) -> None:
    """In files of different kinds there would be two of it, and no track could be made any more."""
    at = np.arange(RATE // 4) / RATE
    files = {}
    for kind in ("WAV", "FLAC"):
        written = io.BytesIO()
        soundfile.write(written, 0.2 * np.sin(2 * np.pi * 300 * at), RATE, format=kind)
        files[f"one.{kind.lower()}"] = written.getvalue()
    gate = Barrier(2)

    def bring(name: str) -> int:
        gate.wait()
        return browser.post(f"/api/voice/bring?file={name}", content=files[name]).status_code

    with ThreadPoolExecutor(2) as both:
        for _ in range(12):
            assert list(both.map(bring, files)) == [200, 200]
            told = browser.get("/api/voice")
            assert told.status_code == 200, told.text
            assert [each["own"] for each in told.json()["words"] if each["own"]] == ["one"]
