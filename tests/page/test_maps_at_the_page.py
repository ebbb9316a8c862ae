"""A beat map made at the page, from a recording that is brought to the entry that is practised over it."""

import io
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from rhythmtrain.page.desk import Desk
from rhythmtrain.storage.beat_maps import load_beat_map
from rhythmtrain.storage.places import drills_folder
from tests.page.asking import posted
from tests.simulate.performances import perform
from tests.simulate.piece_midi import midi_of

RAG = "supplied:32-sluice-gate-rag"


@pytest.fixture
def recording(browser: TestClient) -> str:
    """Bring the supplied recording as if it were one's own; return what it is called."""
    data = (drills_folder() / "sluice-gate-piano.ogg").read_bytes()
    answer = browser.post("/api/bring", params={"file": "Our pianist.ogg"}, content=data)
    return str(answer.json()["name"])


def true_beats() -> dict[tuple[int, int], float]:
    """Return where the beats of that recording truly are."""
    kept = load_beat_map(drills_folder() / "sluice-gate-piano.beats")
    return {(beat.bar, beat.beat): beat.time_s for beat in kept.beats}


def test_a_few_bars_tapped_once_are_enough_for_an_entry(
    browser: TestClient, recording: str
) -> None:
    """The first way: bars 10 to 17 tapped, the map put to use, the entry in bar 14 practised."""
    truth = true_beats()
    rng = np.random.default_rng(3)
    wanted = [(bar, beat) for bar in range(10, 18) for beat in (1, 2)]
    from_s, start_s, ahead_s = truth[10, 1] - 1.2, 2.0, 300.0
    taps = [
        truth[place] - from_s + start_s + ahead_s + 0.03 + float(rng.normal(0, 0.025))
        for place in wanted
    ]
    clock = [[at, at + ahead_s] for at in np.arange(2.0, 40.0, 0.5).tolist()]
    way = f"/api/recording/{recording}"
    told = posted(
        browser, f"{way}/beats", tapped=taps, clock=clock, start_s=start_s, from_s=from_s,
        bars="10-17", metre="2/4",
    )  # fmt: skip
    away = [abs(beat["time_s"] - truth[beat["bar"], beat["beat"]]) for beat in told["beats"]]
    assert np.median(away) < 0.02
    assert max(away) < 0.09
    assert not told["mostly_in_doubt"]
    used = posted(browser, f"{way}/use", passage=RAG)
    assert used["name"].startswith("own:")
    shown = browser.get("/api/passage", params={"passage": used["name"], "bars": "12-17"}).json()
    assert shown["recorded"]
    begun = posted(browser, "/api/entry", passage=used["name"], bar=14, recorded=True)
    track = posted(browser, f"/api/entry/{begun['course']}/track")
    assert "accompaniment" in track["layers"]


def test_a_beat_that_was_moved_is_a_mark_from_which_all_is_solved(
    browser: TestClient, recording: str
) -> None:
    """The last bar was put down two bars too late: put right, all its neighbours follow."""
    truth = true_beats()
    way = f"/api/recording/{recording}"
    first, wrong, right = f"1={truth[1, 1]:.3f}", f"9={truth[11, 1]:.3f}", f"9={truth[9, 1]:.3f}"

    def away(told: dict[str, Any]) -> float:
        beats = [each for each in told["beats"] if each["bar"] > 5]
        off = [abs(each["time_s"] - truth[each["bar"], each["beat"]]) for each in beats]
        return float(np.median(off))

    told = posted(browser, f"{way}/beats", at=[first, wrong], bars="1-9", metre="2/4")
    assert away(told) > 0.2
    again = posted(browser, f"{way}/beats", at=[first, right], bars="1-9", metre="2/4")
    assert away(again) < 0.03
    kept = browser.get(f"{way}/beats").json()
    assert len(kept["beats"]) == len(again["beats"])


def test_the_nearest_stroke_is_where_the_piano_is_struck(
    browser: TestClient, recording: str
) -> None:
    """A beat that was put down roughly snaps to what one hears."""
    truth = true_beats()
    at_s = truth[5, 1]
    told = posted(browser, f"/api/recording/{recording}/nearest", at_s=at_s + 0.06)
    assert told["time_s"] == pytest.approx(at_s, abs=0.02)


def test_what_the_browser_plays_is_the_recording(
    browser: TestClient, recording: str, tmp_path: Path
) -> None:
    """Every second of what plays is the second of which the map speaks."""
    file = tmp_path / "heard.flac"
    file.write_bytes(browser.get(f"/api/recording/{recording}/sound").content)
    heard, rate = soundfile.read(file, always_2d=True)
    own, own_rate = soundfile.read(drills_folder() / "sluice-gate-piano.ogg", always_2d=True)
    assert rate == 44_100
    assert len(heard) / rate == pytest.approx(len(own) / own_rate, abs=0.01)
    wave = browser.get(f"/api/recording/{recording}/wave").json()
    assert wave["duration_s"] == pytest.approx(len(own) / own_rate, abs=0.02)
    assert max(wave["peaks"]) == pytest.approx(1.0, abs=0.01)


def test_what_holds_no_sound_is_not_kept(browser: TestClient, desk: Desk) -> None:
    """A broken file is refused in one sentence and leaves nothing behind."""
    for called, data in (("a.wav", b"RIFFxxxx"), ("a.jpg", b"x"), ("a.mp3", b"x" * 900)):
        answer = browser.post("/api/bring", params={"file": called}, content=data)
        assert answer.status_code == 422
        assert answer.json()["sentence"]
    assert not list(desk.sitting.folders.recordings.iterdir())


@pytest.mark.parametrize("name", ["../../x.wav", "nothing.wav", ".."])
def test_no_recording_leads_out_of_the_folder(browser: TestClient, name: str) -> None:
    """Only what was brought is there."""
    answer = browser.get(f"/api/recording/{name}/wave")
    assert answer.status_code in (404, 422)


def test_a_map_without_help_is_refused_with_the_way_to_help(
    browser: TestClient, recording: str
) -> None:
    """The blind case offers no result."""
    answer = browser.post(f"/api/recording/{recording}/beats", json={"bars": "1-8"})
    assert answer.status_code == 422
    answer = browser.post(f"/api/recording/{recording}/use", json={"passage": RAG})
    assert "tap along first" in answer.json()["sentence"]


def test_a_beat_moved_on_another_day_counts_with_what_was_said_before(
    browser: TestClient, recording: str
) -> None:
    """One opens the recording again and moves one beat: nothing has to be tapped anew."""
    way = f"/api/recording/{recording}/beats"
    first = {"at": ["1=0.78", "5=12.2"], "bars": "1-5", "metre": "2/4"}
    before = browser.post(way, json=first).json()["beats"]
    moved = next(beat for beat in before if (beat["bar"], beat["beat"]) == (3, 1))["time_s"] + 0.05
    after = browser.post(way, json={"at": [f"3={moved:.3f}"]})
    assert after.status_code == 200, after.text
    beats = {(beat["bar"], beat["beat"]): beat["time_s"] for beat in after.json()["beats"]}
    assert len(beats) == len(before)
    assert max(bar for bar, _ in beats) == 5
    again = browser.post(way, json={"at": []}).json()["beats"]
    assert [beat["time_s"] for beat in again] == pytest.approx(list(beats.values()), abs=1e-6)


def test_notes_of_another_piece_are_refused_and_leave_nothing(
    browser: TestClient, desk: Desk, recording: str
) -> None:
    """One sentence with the person's own name for the file; what was mapped before stays."""
    way = f"/api/recording/{recording}/notes"
    before = sorted(desk.sitting.folders.recordings.iterdir())
    for file, data, words in (
        ("letter.txt", b"Dear Ada", "letter.txt holds no notes"),
        ("piäno.mid", b"no notes", "piäno.mid"),
    ):
        answer = browser.post(way, params={"file": file}, content=data)
        assert answer.status_code == 422
        assert words in answer.json()["sentence"]
        assert "-notes-" not in answer.json()["sentence"]
    assert sorted(desk.sitting.folders.recordings.iterdir()) == before


def test_the_accompanists_notes_map_every_bar_and_a_moved_beat_counts_with_them(
    browser: TestClient, desk: Desk
) -> None:
    """Nothing is tapped; the notes are kept with the recording, and bringing them again keeps one file."""
    played = perform(7, expressive=False, bars=16)
    sound = io.BytesIO()
    soundfile.write(sound, played.sound, played.rate, format="FLAC")
    came = browser.post("/api/bring", params={"file": "p.flac"}, content=sound.getvalue()).json()
    way = f"/api/recording/{came['name']}"
    asked = {"file": "piano.mid"}
    first, told = (
        browser.post(f"{way}/notes", params=asked, content=midi_of(played.piece)).json()
        for _ in range(2)
    )
    assert told["beats"] == first["beats"]
    beats = np.array([beat["time_s"] for beat in told["beats"]])
    assert np.mean(np.abs(beats - played.beats_s[: len(beats)]) < 0.07) >= 0.93
    assert told["beats"][-1]["bar"] == 16
    assert len(list(desk.sitting.folders.recordings.glob("*-notes-*"))) == 1
    moved_s = beats[4 * played.piece.beats] + 0.2
    again = posted(browser, f"{way}/beats", at=[f"5={moved_s:.2f}"])
    assert again["beats"][4 * played.piece.beats]["time_s"] == pytest.approx(moved_s, abs=0.08)


def test_two_bars_tapped_and_the_last_one_marked_map_a_whole_piece(
    browser: TestClient, desk: Desk
) -> None:
    """A long recording need not be tapped through."""
    played = perform(7, expressive=False, bars=16)
    sound = io.BytesIO()
    soundfile.write(sound, played.sound, played.rate, format="FLAC")
    came = browser.post("/api/bring", params={"file": "p.flac"}, content=sound.getvalue()).json()
    beats = played.piece.beats
    told = posted(
        browser, f"/api/recording/{came['name']}/beats",
        tapped=played.beats_s[: 2 * beats].tolist(), clock=[[at, at] for at in range(60)],
        start_s=0.0, bars="1-16", metre=f"{beats}/4", end=float(played.beats_s[15 * beats]),
    )  # fmt: skip
    found = np.array([beat["time_s"] for beat in told["beats"]])
    away = found - played.beats_s[: len(found)]
    assert told["beats"][-1]["bar"] == 16
    assert np.mean(np.abs(away) < 0.07) > 0.9
    kept = (desk.sitting.folders.recordings / came["name"]).with_suffix(".beats").read_text("utf-8")
    assert f"# kept: end {played.beats_s[15 * beats]:.3f}" in kept
