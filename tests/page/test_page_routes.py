"""What the page can ask for, asked as the page does."""

import io
import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile
from starlette.testclient import TestClient

from rhythmtrain.cli.main import run
from rhythmtrain.page.desk import Desk
from tests.page.asking import posted

RAG = "supplied:29-towpath-rag"
MINE = 'title = "My march"\nmetre = "2/4"\ntempo = 80\nrhythm = "1 & 2 & | 1 (2)"\n'


def sentence(answer: Any) -> str:
    """Return what was said where something could not be done."""
    assert answer.status_code == 422
    return str(answer.json()["sentence"])


def test_every_supplied_drill_can_be_chosen_and_seen(browser: TestClient) -> None:
    """The shelf names nothing that does not open."""
    shelf = browser.get("/api/shelf").json()
    assert len(shelf["supplied"]) >= 30
    for each in shelf["supplied"][::7]:
        shown = browser.get("/api/passage", params={"passage": each["name"]}).json()
        assert shown["title"] == each["title"]
        assert all(system.startswith("<svg") for system in shown["systems"])
        drawn = "".join(shown["systems"])
        assert all(f'id="{sign["name"]}"' in drawn for sign in shown["signs"] if sign["note"])


@pytest.mark.parametrize(
    "name", ["own:../../etc/passwd", "own:/etc/passwd", "supplied:../x", "29-towpath-rag", "own:"]
)
def test_no_name_leads_off_the_shelf(browser: TestClient, name: str) -> None:
    """What a page sends is a name on the shelf, never a path."""
    assert "no passage" in sentence(browser.get("/api/passage", params={"passage": name}))


def test_a_rhythm_is_written_kept_and_changed(browser: TestClient, desk: Desk) -> None:
    """A teacher types a rhythm and practises it at once."""
    drawn = posted(browser, "/api/passage/draw", text=MINE)
    assert drawn["trouble"] is None
    kept = posted(browser, "/api/passage/write", text=MINE)
    assert browser.get("/api/shelf").json()["own"][0]["title"] == "My march"
    again = posted(
        browser, "/api/passage/write", text=MINE.replace("My march", "Ours"), name=kept["name"]
    )
    assert again["name"] == kept["name"]
    (file,) = desk.sitting.folders.passages.glob("*.toml")
    assert "Ours" in file.read_text("utf-8")
    posted(browser, "/api/passage/away", name=kept["name"])
    assert not browser.get("/api/shelf").json()["own"]


def test_what_is_amiss_is_told_in_its_place(browser: TestClient) -> None:
    """While one types the half-written bar is no failure: it is shown where it stands."""
    drawn = posted(browser, "/api/passage/draw", text=MINE.replace("1 (2)", "1 3"))
    assert drawn["trouble"]["line"] == 4
    assert "beat 3" in drawn["trouble"]["message"]


def test_a_score_that_does_not_read_is_not_kept(browser: TestClient, desk: Desk) -> None:
    """Nothing broken lies on the shelf."""
    answer = browser.post("/api/bring", params={"file": "a.musicxml"}, content=b"<score")
    assert sentence(answer)
    assert [each.name for each in desk.sitting.folders.passages.iterdir()] == ["recordings"]
    answer = browser.post("/api/bring", params={"file": "holiday.jpg"}, content=b"x")
    assert "MusicXML" in sentence(answer)


def test_a_score_that_was_brought_is_practised(browser: TestClient, tmp_path: Path) -> None:
    """The piece comes in as a MIDI file and is drawn at once."""
    file = tmp_path / "made.mid"
    assert (
        run(["track", "29-towpath-rag", "-o", str(file), "--layers", "clap", "--count-in", "0"])
        == 0
    )
    answer = browser.post(
        "/api/bring", params={"file": "../My piece.mid"}, content=file.read_bytes()
    )
    name = answer.json()["name"]
    assert name.startswith("own:my-piece-")
    shown = browser.get("/api/passage", params={"passage": name, "bars": "1-2"}).json()
    assert shown["notes"]


def test_stems_together_are_the_track_that_the_command_line_writes(
    browser: TestClient, tmp_path: Path
) -> None:
    """What one hears at the page is what one would have as a file."""
    told = posted(browser, "/api/track", passage=RAG, speed=0.7, count_in=1)
    assert {"clap", "click", "count", "tune"} == set(told["layers"])
    mixed: Any = 0
    for layer in ("clap", "click", "count"):
        data = browser.get(f"/api/track/{told['track']}/{layer}").content
        stem, rate = soundfile.read(io.BytesIO(data), always_2d=True)
        assert rate == told["sample_rate"]
        mixed = mixed + stem
    file = tmp_path / "same.wav"
    assert run(["track", "29-towpath-rag", "-o", str(file), "--speed", "0.7"]) == 0
    whole, _ = soundfile.read(file, always_2d=True)
    assert whole.shape == mixed[: len(whole)].shape
    assert np.abs(mixed[: len(whole)] - whole).max() < 4 / 32768
    assert not np.abs(mixed[len(whole) :]).any()


def test_a_layer_that_does_not_sound_is_named(browser: TestClient) -> None:
    """A page that was left open says what is there."""
    told = posted(browser, "/api/track", passage=RAG, bars="1-2")
    assert "clap" in sentence(browser.get(f"/api/track/{told['track']}/accompaniment"))
    assert "make it again" in sentence(browser.get("/api/track/nothing/clap"))


def clapped(browser: TestClient, told: dict[str, Any], late_s: float = 0.0) -> dict[str, Any]:
    """Return what is heard when every note of a track is clapped ``late_s`` late on a keyboard."""
    start_s, ahead_s = 3.25, 120.5
    took = posted(browser, "/api/take", track=told["track"], source="keys", start_s=start_s)
    claps = [note["time_s"] + start_s + ahead_s + late_s for note in told["notes"]]
    taps = [
        row
        for at in claps
        for row in ([at, "Space", False, None], [at + 0.05, "Space", True, None])
    ]
    clock = [[at, at + ahead_s] for at in np.arange(3.0, 30.0, 0.5).tolist()]
    way = f"/api/take/{took['take']}"
    half = len(taps) // 2
    posted(browser, f"{way}/on", parts=[{"part": 0, "taps": taps[:half], "clock": clock[:20]}])
    posted(browser, f"{way}/on", parts=[{"part": 1, "taps": taps[half:], "clock": clock[20:]}])
    return posted(browser, f"{way}/end", stopped=False)


def test_claps_at_the_page_are_judged_as_everywhere(
    browser: TestClient, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same taps, typed into a file, get the same answer from the command line."""
    told = posted(browser, "/api/track", passage=RAG, bars="1-4", speed=0.6)
    answer = clapped(browser, told, late_s=0.02)
    file = tmp_path / "taps.txt"
    file.write_text("\n".join(f"{note['time_s'] + 0.02:.6f}" for note in told["notes"]))
    start_s = next(bar["start_s"] for bar in told["bars"] if bar["index"] == 0)
    capsys.readouterr()
    assert (
        run(
            [
                "check",
                str(file),
                "29-towpath-rag",
                "--bars",
                "1-4",
                "--speed",
                "0.6",
                "--start",
                str(start_s),
                "--json",
            ]
        )
        == 0
    )
    same = json.loads(capsys.readouterr().out)
    mine = answer["document"]
    assert [note["verdict"] for note in mine["notes"]] == [
        note["verdict"] for note in same["notes"]
    ]
    assert mine["tally"] == same["tally"]
    offsets = [note["offset_ms"] for note in mine["notes"]]
    assert offsets == pytest.approx([note["offset_ms"] for note in same["notes"]], abs=0.5)
    assert answer["kept_as"] is not None
    assert len(answer["lane"]) == len(told["notes"])


def test_the_whole_report_and_a_single_bar_can_be_had(browser: TestClient) -> None:
    """Hearing bar 2 plays that bar of the take, and the report is the one of the command line."""
    told = posted(browser, "/api/track", passage=RAG, bars="1-4", speed=0.6)
    late = next(note for note in told["notes"] if note["index"] == 1 and note["at"] == 1.0)
    late["time_s"] += 0.28
    answer = clapped(browser, told)
    assert answer["worth_hearing"] == [2]
    bar = browser.get(f"/api/heard/{answer['heard']}/bar/2")
    assert bar.headers["content-type"] == "audio/mpeg"
    assert len(bar.content) > 5_000
    assert "nothing was said" in sentence(browser.get(f"/api/heard/{answer['heard']}/bar/4"))
    page = browser.get(f"/api/heard/{answer['heard']}/report")
    assert "What was heard" in page.text
    assert "sandbox" in page.headers["content-security-policy"]


def test_nothing_clapped_is_said_kindly_and_the_take_is_over(
    browser: TestClient, desk: Desk
) -> None:
    """Somebody who only listened is not told of missed notes."""
    told = posted(browser, "/api/track", passage=RAG, bars="1-2")
    took = posted(browser, "/api/take", track=told["track"], source="keys", start_s=1.0)
    posted(
        browser,
        f"/api/take/{took['take']}/on",
        parts=[{"part": 0, "clock": [[2.0, 3.0], [4.0, 5.0]]}],
    )
    answer = browser.post(f"/api/take/{took['take']}/end", json={"stopped": True})
    assert "press the space bar" in sentence(answer)
    assert not list(desk.sitting.folders.takes.iterdir())
    late = {"parts": [{"part": 1, "taps": [[5.0, "Space", False, None]]}]}
    assert "begin a new one" in sentence(browser.post(f"/api/take/{took['take']}/on", json=late))
    assert not list(desk.sitting.folders.takes.iterdir())


def test_who_stopped_in_the_count_in_is_told_so(browser: TestClient) -> None:
    """Nothing could be clapped yet: neither the keys nor the player are to blame."""
    told = posted(browser, "/api/track", passage=RAG, bars="1-2")
    took = posted(browser, "/api/take", track=told["track"], source="keys", start_s=1.0)
    way = f"/api/take/{took['take']}"
    part = {"part": 0, "clock": [[1.2, 2.2], [1.9, 2.9]]}
    posted(browser, f"{way}/on", parts=[part])
    answer = browser.post(f"{way}/end", json={"stopped": True})
    assert "before the passage began" in sentence(answer)


@pytest.mark.parametrize(
    ("values", "words"),
    [
        ({"source": "telepathy", "start_s": 1.0}, "keys, midi, touch, mic"),
        ({"source": "keys", "start_s": "soon"}, "start_s must be a number"),
        ({"source": "keys", "kind": "wind", "start_s": 1.0}, "a microphone listens for"),
        ({"source": "keys", "start_s": 1.0, "levels": [[0, "clap", "loud"]]}, "must be a number"),
    ],
)
def test_what_makes_no_sense_is_refused_in_one_sentence(
    browser: TestClient, values: dict[str, Any], words: str
) -> None:
    """An old page in another tab gets a sentence, not a trace."""
    told = posted(browser, "/api/track", passage=RAG, bars="1-2")
    assert words in sentence(browser.post("/api/take", json={"track": told["track"], **values}))


@pytest.mark.parametrize("body", [b"{", b"[]", b"[" * 100_000])
def test_what_is_no_document_is_refused(browser: TestClient, body: bytes) -> None:
    """Rubbish is answered in a sentence."""
    answer = browser.post("/api/track", content=body, headers={"content-type": "application/json"})
    assert "reload" in sentence(answer)


def test_the_finer_wishes_of_a_track_are_those_of_the_command_line(
    browser: TestClient, tmp_path: Path
) -> None:
    """Four clicks to a beat and every count spoken sound at the page as in the file of `track`."""
    wish = {"passage": RAG, "bars": "1-2", "subdivide": 4, "say": "all", "quick": True}
    told = posted(browser, "/api/track", **wish)
    plain = posted(browser, "/api/track", passage=RAG, bars="1-2")
    made = tmp_path / "t.wav"
    options = ["--bars", "1-2", "--layers", "click,count", "--subdivide", "4", "--say", "all"]
    assert run(["track", "29-towpath-rag", "-o", str(made), "--quick", *options]) == 0
    whole, _ = soundfile.read(made)

    def stems(track: str) -> Any:
        both = [
            soundfile.read(io.BytesIO(browser.get(f"/api/track/{track}/{layer}").content))[0]
            for layer in ("click", "count")
        ]
        many = min(len(each) for each in (*both, whole))
        return both[0][:many] + both[1][:many], whole[:many]

    here, there = stems(told["track"])
    before = stems(plain["track"])[0]
    assert np.abs(here).max() > 0.05
    share = np.corrcoef(here.ravel(), there.ravel())[0, 1]
    assert share > 0.999
    many = min(len(before), len(here))
    assert np.corrcoef(here[:many].ravel(), before[:many].ravel())[0, 1] < 0.9
