"""An entry practised at the page, try after try."""

import io
from collections.abc import Callable
from typing import Any

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from rhythmtrain.coach.entry_course import Try
from rhythmtrain.page.desk import Desk
from tests.page.asking import posted
from tests.rehearsal.cueing.test_cue_known import (
    BEATS_S,
    DRILL,
    ENTRY_BAR,
    RECORDED,
    make_recording,
    score,
)

ENTRY = "supplied:28-towpath-entry"
OVER_PIANO = "supplied:32-sluice-gate-rag"


Moved = Callable[[float, float], float]


def tried(browser: TestClient, course: str, late: float | Moved | None) -> dict[str, Any]:
    """Make one try, coming in ``late`` seconds late with all of the phrase; None plays nothing.

    Else ``late`` tells for the second of a note, and of the entry, when it is played.
    """
    told = posted(browser, f"/api/entry/{course}/track")
    took = posted(browser, "/api/take", track=told["track"], source="keys", start_s=0.0)
    taps = []
    if late is not None:
        entry_s = min(told["entries_s"])
        notes_s = [note["time_s"] for note in told["notes"] if note["time_s"] >= entry_s - 0.01]
        moved = late if callable(late) else lambda time_s, _: time_s + late
        taps = [[moved(time_s, entry_s), "Space", False, None] for time_s in notes_s]
    clock = [[at, at] for at in np.arange(0.5, told["duration_s"], 0.5).tolist()]
    posted(
        browser, f"/api/take/{took['take']}/on", parts=[{"part": 0, "taps": taps, "clock": clock}]
    )
    return posted(browser, f"/api/entry/{course}/end", take=took["take"], stopped=False)


@pytest.mark.parametrize(("passage", "recorded"), [(ENTRY, False), (OVER_PIANO, True)])
def test_help_thins_until_the_entry_is_learnt(
    browser: TestClient, passage: str, *, recorded: bool
) -> None:
    """Whoever comes in where they should needs less and less, and is told when it is learnt."""
    begun = posted(browser, "/api/entry", passage=passage, speed=1.0, recorded=recorded)
    assert "after" in begun["entry"]
    helps = [begun["coming"]["help"]]
    told: dict[str, Any] = {}
    for _ in range(12):
        told = tried(browser, begun["course"], 0.01)
        assert told["went"] == "in time"
        if told["coming"] is None:
            break
        helps.append(told["coming"]["help"])
    assert helps[0] == "rests counted aloud"
    assert helps[-1].startswith("no help")
    assert "without help" in " ".join(told["advice"])
    answer = browser.post(f"/api/entry/{begun['course']}/track", json={})
    assert "this practice is over" in answer.json()["sentence"]


def test_a_beat_too_late_brings_help_back(browser: TestClient) -> None:
    """It is said as one says it, and the next try has the help that this one lacked."""
    begun = posted(browser, "/api/entry", passage=ENTRY, speed=1.0)
    first = tried(browser, begun["course"], 0.0)
    told = tried(browser, begun["course"], 60 / 72)
    assert told["went"] == "one beat late"
    assert told["offset_beats"] == pytest.approx(1.0, abs=0.02)
    assert told["coming"]["help"] == begun["coming"]["help"] != first["coming"]["help"]


def test_it_ends_after_as_many_tries_as_were_wished(browser: TestClient) -> None:
    """Two tries before the bus leaves; the one from the top is among them."""
    begun = posted(browser, "/api/entry", passage=ENTRY, speed=1.0, tries=2)
    assert tried(browser, begun["course"], 0.3)["coming"]["number"] == 2
    assert tried(browser, begun["course"], 0.3)["coming"] is None
    answer = browser.post("/api/entry", json={"passage": ENTRY, "tries": 101})
    assert answer.json()["sentence"] == "tries must be 1 to 100, got 101"


def test_a_try_without_a_sound_is_not_heard(browser: TestClient) -> None:
    """Whoever was too surprised to come in goes on with the next try."""
    begun = posted(browser, "/api/entry", passage=ENTRY)
    assert tried(browser, begun["course"], None)["went"] == "not heard"


@pytest.mark.parametrize(
    ("beats", "went"),
    [(-5, "five beats early"), (-6, "three bars early"), (4, "two bars late")],
)
def test_an_entry_far_from_its_place_is_told_by_how_much(
    browser: TestClient, beats: int, went: str
) -> None:
    """Whoever lost count of the bars learns by how many; "not heard" would call them silent."""
    begun = posted(browser, "/api/entry", passage=ENTRY, speed=1.0)
    told = tried(browser, begun["course"], beats * 60 / 72)
    assert told["went"] == went
    assert not told["good"]
    assert told["offset_beats"] == pytest.approx(beats, abs=0.1)


def test_a_single_clap_in_the_rest_is_told_where_it_was(browser: TestClient) -> None:
    """It may have been meant for the entry or not: that it was heard, and where, is certain."""
    begun = posted(browser, "/api/entry", passage=ENTRY, speed=1.0)
    beat_s = 60 / 72

    def one_clap(beats: float) -> Moved:
        return lambda time_s, entry_s: (
            entry_s + beats * beat_s if abs(time_s - entry_s) < 0.01 else 1e3
        )

    told = tried(browser, begun["course"], one_clap(-4))
    assert told["went"] == "two bars early"
    told = tried(browser, begun["course"], one_clap(-5))
    assert told["went"] == "not heard: your first clap was five beats early"
    told = tried(browser, begun["course"], one_clap(-1.4))
    assert told["went"] == "about 1.4 beats early: the count drifted"


def test_a_passage_without_an_entry_says_so(browser: TestClient) -> None:
    """There is nothing to wait for in a passage without a rest."""
    answer = browser.post("/api/entry", json={"passage": "supplied:01-steady-quarters"})
    assert "has no entry" in answer.json()["sentence"]


def test_what_is_played_before_the_entry_is_said_and_sounds(browser: TestClient) -> None:
    """One knows what one waits for: in words, and as a sound, before one tries."""
    asked: dict[str, str | int | float] = {"passage": "supplied:28-towpath-entry", "bar": 11}
    told = browser.get("/api/cue", params=asked).json()
    assert told["words"].startswith("three quarter notes; you come in on the and of 2")
    assert told["words"] in told["text"]
    sound = browser.get("/api/cue/sound", params={**asked, "speed": 0.5})
    heard, rate = soundfile.read(io.BytesIO(sound.content))
    twice, _ = soundfile.read(io.BytesIO(browser.get("/api/cue/sound", params=asked).content))
    assert len(heard) / rate > 8
    assert len(heard) == pytest.approx(2 * len(twice), rel=0.1)


def test_a_bar_without_an_entry_has_nothing_before_it(browser: TestClient) -> None:
    """A slip is told with the bars where there are entries."""
    answer = browser.get("/api/cue", params={"passage": "supplied:28-towpath-entry", "bar": 2})
    assert answer.status_code == 422
    assert "there is no entry in bar 2" in answer.json()["sentence"]


@pytest.mark.parametrize("noted", [False, True])
def test_who_followed_the_wrong_cue_is_told_so(
    browser: TestClient, desk: Desk, *, noted: bool
) -> None:
    """As on the command line, from the recording's strokes or from its notes."""
    folder = desk.sitting.folders.passages
    make_recording(folder, 8)
    score(folder, 8)
    more = f'{RECORDED}\nnotes = "piano.mid"' if noted else RECORDED
    (folder / "mill.toml").write_text(DRILL.format(more=more), encoding="utf-8")
    begun = posted(browser, "/api/entry", passage="own:mill.toml", speed=1.0, recorded=True)
    desk.courses.get(begun["course"]).coming = Try(4 if noted else 8, 0)
    told = tried(browser, begun["course"], two_bars_early)
    assert told["went"] == "two bars early, after the wrong cue: the same one leads to bar 9 too"
    assert told["wrong_cue"] == {"bar": 9}


def two_bars_early(time_s: float, entry_s: float) -> float:
    """Return when the piano plays what it plays two bars before ``time_s``; the entry is in bar 11."""
    later_s = entry_s - BEATS_S[2 * (ENTRY_BAR - 1)]
    beat = np.interp(time_s - later_s, BEATS_S, range(len(BEATS_S)))
    return float(np.interp(beat - 4, range(len(BEATS_S)), BEATS_S) + later_s)
