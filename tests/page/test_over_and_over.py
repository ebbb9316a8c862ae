"""A passage clapped over and over at the page: what sounds, what is said between, what is told at the end."""

import io
from typing import Any

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from rhythmtrain.page.desk import Desk
from rhythmtrain.rehearsal.clapping.rounds import round_of
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.passages.passages import wished_passage
from rhythmtrain.rehearsal.tracks.sound import Quality, sounded
from tests.page.asking import posted
from tests.simulate.sounds import clap

RATE = 44_100
RAG, ENTRY = "29-towpath-rag", "28-towpath-entry"
# At this speed every sixteenth is a whole number of samples.
LOOP: dict[str, Any] = {"passage": f"supplied:{RAG}", "bars": "1-2", "speed": 0.5, "over": True}
START_S = 3.0


def times_of(told: dict[str, Any], rounds: int) -> list[list[float]]:
    """Return when the notes of each time through fall, in seconds of the track."""
    first = [note["time_s"] for note in told["notes"] if note["run"] == 1]
    period_s = told["loop"]["stop_s"] - told["loop"]["start_s"]
    return [[at + k * period_s for at in first] for k in range(rounds)]


def begun(browser: TestClient, told: dict[str, Any], source: str = "keys") -> str:
    """Begin a take to the track that was ``told`` of and return its way."""
    values = {"track": told["track"], "source": source, "start_s": START_S}
    return f"/api/take/{posted(browser, '/api/take', **values)['take']}"


def tapped(browser: TestClient, way: str, times_s: list[float], part: int = 0) -> None:
    """Tap at these seconds of the track, the ``part``-th time, on a page whose two clocks are one."""
    taps = [
        [at + START_S + later, "Space", up, None]
        for at in times_s
        for later, up in ((0, False), (0.05, True))
    ]
    clock = [[at + START_S, at + START_S] for at in times_s]
    posted(browser, f"{way}/on", parts=[{"part": part, "taps": taps, "clock": clock}])


def test_what_comes_round_is_what_a_long_track_would_be(browser: TestClient, desk: Desk) -> None:
    """Where the browser goes back nothing is cut off, and every click keeps its place."""
    told = posted(browser, "/api/track", **LOOP)
    wish = ClapWish(RAG, bars="1-2", speed=0.5, loop=True)
    whole = round_of(wish, wished_passage(wish), times=6).sounding.plan
    blocks, _ = sounded(whole, language="en", voice=None, quality=Quality(RATE, 2), pieces=())
    long = np.concatenate([block.mean(axis=1) for block in blocks])
    loop = desk.tracks.get(told["track"]).loop
    assert loop is not None
    heard: Any = 0
    for layer in ("clap", "click", "count"):
        data = browser.get(f"/api/track/{told['track']}/{layer}").content
        stem, _ = soundfile.read(io.BytesIO(data), always_2d=True, dtype="float32")
        heard = heard + loop.unrolled(stem.mean(axis=1), round(told["loop"]["stop_s"] * RATE * 2))
    many = min(len(heard), len(long))
    assert many > 1.5 * told["loop"]["stop_s"] * RATE
    # One factor keeps the peak of a track in bounds; beyond that they are the same.
    gain = float(heard[:many] @ long[:many] / (long[:many] @ long[:many]))
    assert np.abs(heard[:many] - gain * long[:many]).max() < 6 / 32768


def test_each_time_through_is_said_in_the_bar_after_it_and_all_of_it_at_the_end(
    browser: TestClient,
) -> None:
    """One hears of the last time at once, goes on, stops in the middle, and is told of all of it."""
    told = posted(browser, "/api/track", **LOOP)
    first, second, third, fourth = times_of(told, 4)
    del second[5]
    way = begun(browser, told)
    tapped(browser, way, first)
    good = posted(browser, f"{way}/round", round=1)["said"]
    assert "time" in good
    tapped(browser, way, second, part=1)
    amiss = posted(browser, f"{way}/round", round=2)["said"]
    assert "Bar 2: beat 1 was not heard" in amiss
    assert "not heard" not in good
    assert posted(browser, f"{way}/round", round=3)["said"] == ""
    tapped(browser, way, [*third, *fourth[:3]], part=2)
    answer = posted(browser, f"{way}/end", stopped=True)
    notes = answer["document"]["notes"]
    assert len(notes) == 3 * len(first) + 3
    amiss_at = [k for k, note in enumerate(notes) if note["verdict"] != "in time"]
    assert amiss_at == [len(first) + 5]
    assert answer["notes"] == [f"Kept in your history as take {answer['kept_as']}."]


def test_a_microphone_is_told_between_as_well(browser: TestClient) -> None:
    """Whoever claps beside the machine hears how the last time went, before the take is over."""
    told = posted(browser, "/api/track", **LOOP)
    first, second = times_of(told, 2)
    del second[5]
    rng = np.random.default_rng(5)
    sound = rng.normal(0, 1e-4, round((second[-1] + 3) * RATE))
    for at in (*first, *second):
        one = 0.4 * clap(rng, RATE)
        sound[round(at * RATE) : round(at * RATE) + len(one)] += one
    way = begun(browser, told, "mic")
    samples = (sound * 32767).astype("<i2").tobytes()
    sent = browser.post(f"{way}/sound", params={"frame": round(START_S * RATE)}, content=samples)
    assert sent.status_code == 200
    assert "not heard" not in posted(browser, f"{way}/round", round=1)["said"]
    assert "not heard" in posted(browser, f"{way}/round", round=2)["said"]


def test_the_accompanists_rhythm_is_clapped_alone_and_not_kept_as_ones_own(
    browser: TestClient,
) -> None:
    """To know the cue one claps it first; it says nothing of how well one plays one's own part."""
    wish: dict[str, Any] = {"passage": f"supplied:{ENTRY}", "bars": "1-4", "theirs": True}
    shown = browser.get("/api/passage", params=wish).json()
    own = browser.get("/api/passage", params={**wish, "theirs": False}).json()
    assert shown["notes"]
    assert shown["notes"] != own["notes"]
    told = posted(browser, "/api/track", **wish)
    assert len(told["notes"]) == len(shown["notes"])
    way = begun(browser, told)
    tapped(browser, way, [note["time_s"] for note in told["notes"]])
    answer = posted(browser, f"{way}/end", stopped=False)
    assert {note["verdict"] for note in answer["document"]["notes"]} == {"in time"}
    assert answer["kept_as"] is None


def test_a_passage_without_a_cue_says_so(browser: TestClient) -> None:
    """Nothing else is played in its place."""
    answer = browser.post("/api/track", json={**LOOP, "theirs": True})
    assert answer.status_code == 422
    assert "no cue" in answer.json()["sentence"]


def test_a_track_that_ends_is_told_at_its_end(browser: TestClient) -> None:
    """An old page gets a sentence."""
    told = posted(browser, "/api/track", **{**LOOP, "over": False})
    assert told["loop"] is None
    way = begun(browser, told)
    answer = browser.post(f"{way}/round", json={"round": 1})
    assert answer.status_code == 422
    assert "at its end" in answer.json()["sentence"]


@pytest.mark.parametrize("theirs", [False, True])
def test_what_was_clapped_over_and_over_outlives_a_power_cut(
    browser: TestClient, desk: Desk, *, theirs: bool
) -> None:
    """The track is made once more as it was, and what was clapped until then is heard."""
    told = posted(
        browser, "/api/track", **{**LOOP, "passage": f"supplied:{ENTRY}", "theirs": theirs}
    )
    first, second = times_of(told, 2)
    way = begun(browser, told)
    tapped(browser, way, [*first, *second])
    desk.sitting.close()
    with Desk() as again:
        assert bool(again.greetings) is not theirs
    assert not list(desk.sitting.folders.takes.iterdir())
