"""``check --timing recording``, typed: what is printed, and as JSON, beside a recorded accompanist."""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import soundfile

from rhythmtrain.cli.main import run

DRILL = """
title = "Weir Song"
metre = "4/4"
tempo = 72
rhythm = "1 2 3 4 | 1 & 2 3 | rest 10 | 1 2& 3 4 | 1 2 & 4"
cue = "rest 1 | rest 1 | rest 4 | 1 & 2 3 | rest 4 | 1 & 2 3 | rest 2"
[accompaniment]
recording = "piano.wav"
beats = "piano.beats"
"""
BEATS_S = 2.0 + np.concatenate(
    ([0.0], np.cumsum(0.8 + 0.1 * np.sin(2 * np.pi * np.arange(60) / 10)))
)
PLAYED = (0, 1, 2, 3, 4, 4.5, 5, 6)
ENTERED = (48, 49.5, 50, 51, 52, 53, 53.5, 55)
START_S = 7.0


@pytest.fixture
def weir(tmp_path: Path) -> Path:
    """Return a drill with a recording and its map beside it."""
    soundfile.write(tmp_path / "piano.wav", np.zeros(60 * 8000, np.float32), 8000)
    lines = (f"{at:.4f}\t{1 + n // 4}.{1 + n % 4}\t0.01\n" for n, at in enumerate(BEATS_S))
    (tmp_path / "piano.beats").write_text("".join(lines), encoding="utf-8")
    drill = tmp_path / "weir.toml"
    drill.write_text(DRILL, encoding="utf-8")
    return drill


def take(folder: Path, *, entry_beats: float = 0.0, slower: float = 1.0) -> str:
    """Write a take that follows the accompanist, its entry so many beats late; return its path."""
    places = np.array([*PLAYED, *(place + entry_beats for place in ENTERED)])
    times = (np.interp(places, np.arange(len(BEATS_S)), BEATS_S) - BEATS_S[0]) * slower + START_S
    path = folder / "take.txt"
    path.write_text("".join(f"{time:.5f}\n" for time in times), encoding="utf-8")
    return str(path)


def told(capsys: pytest.CaptureFixture[str], *words: str) -> dict[str, Any]:
    """Return the JSON document of a command that went well."""
    assert run([*words, "--json"]) == 0
    document: dict[str, Any] = json.loads(capsys.readouterr().out)
    return document


def test_an_entry_is_told_in_ms_and_beats_against_the_accompanist(
    weir: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One beat early is a beat of that accompanist, at that place."""
    path = take(tmp_path, entry_beats=-1)
    beside = ("--timing", "recording", "--start", "7")
    document = told(capsys, "check", path, str(weir), *beside)
    entry = document["entries"][0]
    assert document["timing"] == "recording"
    assert entry["verdict"] == "one beat early"
    assert entry["offset_beats"] == pytest.approx(-1, abs=0.01)
    assert entry["offset_ms"] == pytest.approx(1000 * (BEATS_S[47] - BEATS_S[48]), abs=1)
    assert entry["wrong_cue"] is None


def test_half_the_speed_of_the_recording_gives_the_same_beats(
    weir: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The recording was slowed, and the take with it."""
    path = take(tmp_path, entry_beats=-1, slower=2)
    beside = ("--timing", "recording", "--start", "7", "--speed", "0.5")
    entry = told(capsys, "check", path, str(weir), *beside)["entries"][0]
    assert entry["verdict"] == "one beat early"
    assert entry["offset_beats"] == pytest.approx(-1, abs=0.01)


def test_whoever_followed_the_wrong_cue_reads_which(
    weir: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The same figure comes five bars before the right one."""
    path = take(tmp_path, entry_beats=-20)
    assert run(["check", path, str(weir), "--timing", "recording", "--start", "7"]) == 0
    said = " ".join(capsys.readouterr().out.split())
    assert "five bars early, after the wrong cue: the same one leads to bar 8 too" in said
    assert "with the recording at its own speed (found from the take)" in said
    assert "click" not in said.partition("To type next")[0]


def test_played_freely_only_the_places_to_meet_are_marked(
    weir: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The first note, the entry and the last note."""
    document = told(capsys, "check", take(tmp_path), str(weir), "--timing", "recording", "--freely")
    met = [(note["bar"], note["count"]) for note in document["notes"] if note.get("meets")]
    assert met == [(1, "1"), (13, "1"), (14, "4")]
    assert document["entries"][0]["verdict"] == "in time"


def test_the_page_says_what_was_played_with(
    weir: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """A page that speaks of a click nobody heard would not be believed."""
    page = tmp_path / "heard.html"
    words = ["check", take(tmp_path), str(weir), "--timing", "recording", "--report", str(page)]
    assert run(words) == 0
    capsys.readouterr()
    text = page.read_text(encoding="utf-8")
    assert "take.txt, with the recording" in text


def test_a_recording_is_of_no_use_beside_a_click(
    weir: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """One sentence, with what to add."""
    assert run(["check", take(tmp_path), str(weir), "--freely"]) == 2
    assert "add --timing recording" in capsys.readouterr().err


def test_what_to_type_next_lets_the_recording_sound_and_can_be_typed(
    weir: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Who came in wrongly beside the pianist practises it with the pianist."""
    monkeypatch.chdir(tmp_path)
    given = ("--accompaniment", "piano.wav", "--beats", "piano.beats")
    late = take(tmp_path, entry_beats=1.0)
    noise = 0.1 * np.random.default_rng(4).standard_normal(60 * 8000)
    soundfile.write(tmp_path / "piano.wav", noise, 8000)
    for files in ((), given):
        words = ("check", late, weir.name, "--timing", "recording", *files)
        assert run(words) == 0
        command = capsys.readouterr().out.split("rhythmtrain track ")[1].split()
        assert command[-2 - len(files) :] == [
            "--layers",
            "accompaniment,click,count",
            *files,
        ]
        document = told(capsys, "track", *command)
        assert {event["layer"] for event in document["events"]} >= {"accompaniment"}
