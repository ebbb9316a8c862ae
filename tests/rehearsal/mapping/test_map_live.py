"""Tapping along live, on fake devices: a few bars, once, and what is kept of it."""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import FileError, RequestError, TakeError
from rhythmtrain.rehearsal.live.stage import NoStage
from rhythmtrain.rehearsal.mapping.live import On, tap_along
from rhythmtrain.rehearsal.mapping.map import map_recording
from rhythmtrain.rehearsal.recorded.marks import MapWish
from rhythmtrain.report.maps.tapping_screen import Tapping
from rhythmtrain.storage.beat_maps import load_beat_map
from rhythmtrain.storage.recordings import open_recording

RATE, BEAT_S, FIRST_S = 22_050, 0.6, 3.0
DRY = MapWish(live=True, dry_run=True, tempo=100.0, start="2", bars="45-48")


class Seen(NoStage):
    """A screen that remembers what was drawn."""

    def __init__(self) -> None:
        """Begin with nothing."""
        self.pages: list[Sequence[str]] = []

    def draw(self, lines: Sequence[str]) -> None:
        """Remember ``lines``."""
        self.pages.append(lines)


@pytest.fixture
def strokes(tmp_path: Path) -> Path:
    """Return a recording of strokes every 0.6 s from 3 s on, every fourth lower."""
    sound = 1e-4 * np.random.default_rng(1).standard_normal(15 * RATE)
    t = np.arange(int(0.4 * RATE)) / RATE
    for beat in range(18):
        hertz = 110 if beat % 4 == 0 else 330
        start = round((FIRST_S + BEAT_S * beat) * RATE)
        sound[start : start + t.size] += 0.4 * np.exp(-t / 0.1) * np.sin(2 * np.pi * hertz * t)
    path = tmp_path / "strokes.wav"
    soundfile.write(path, sound, RATE)
    return path


def _beats(path: Path) -> Iterator[tuple[str, float]]:
    for beat in load_beat_map(path).beats:
        yield beat.name, beat.time_s


def test_a_few_bars_tapped_once_are_a_map_beside_the_recording(strokes: Path) -> None:
    """The first way: it plays from 2 s on, one taps four bars, and has what an entry needs."""
    seen = Seen()
    told = map_recording(strokes, DRY, seen)
    found = dict(_beats(strokes.with_suffix(".beats")))
    assert list(found)[:5] == ["45.1", "45.2", "45.3", "45.4", "46.1"]
    assert len(found) == 16
    truth = FIRST_S + BEAT_S * np.arange(16)
    assert np.abs(np.array(list(found.values())) - truth).max() < 0.03
    assert "bars 45 to 48 in 4/4" in told.text
    assert seen.pages[0][0] == "strokes.wav from 0:02.0"
    assert "That is all of them." in seen.pages[-1][4]


def test_it_stops_by_itself_after_the_last_beat(strokes: Path) -> None:
    """Nobody reaches for a key, and the rest of the recording is not waited for."""
    seen = Seen()
    tapping = Tapping("strokes.wav", 2.0, 45, 4, 8)
    tapped = tap_along(open_recording(strokes), tapping, On(dry_beat_s=BEAT_S), seen)
    assert len(tapped.times_s) == 8
    assert np.diff(tapped.times_s) == pytest.approx(BEAT_S, abs=0.003)
    assert tapped.times_s[0] == pytest.approx(FIRST_S - 0.015, abs=0.01)
    last = float(seen.pages[-1][3].strip().partition(":")[2])
    assert last < FIRST_S + 7 * BEAT_S + 1.5


def test_without_bars_it_goes_on_to_the_end_of_the_recording(strokes: Path) -> None:
    """All taps count from bar 1."""
    wish = replace(DRY, bars=None, output=strokes.with_name("all.beats"))
    told = map_recording(strokes, wish)
    assert told.document["beats"][0]["bar"] == 1
    assert len(told.document["beats"]) == 16


def test_one_more_mark_solves_afresh_from_what_the_map_keeps(strokes: Path) -> None:
    """The taps, the bars and the second it was played from are all in the file."""
    map_recording(strokes, DRY)
    kept = strokes.with_suffix(".beats")
    before = dict(_beats(kept))
    told = map_recording(strokes, MapWish(again=kept, at=("47=7.82",)))
    after = dict(_beats(kept))
    assert list(before) == list(after)
    assert told.files == (kept,)
    assert "# kept: at 47=7.82" in kept.read_text(encoding="utf-8")
    again = map_recording(strokes, MapWish(again=kept, at=("47.1=7.80",)))
    lines = kept.read_text(encoding="utf-8").splitlines()
    assert [line for line in lines if "kept: at" in line] == ["# kept: at 47.1=7.80"]
    assert f"--again {kept}" in " ".join(again.text.split()) or not again.document["unsure_bars"]


def test_a_mark_made_by_ear_overrules_taps_that_miscounted(strokes: Path) -> None:
    """Bar 47 a beat later than tapped: a tap too many came before, and the count goes on from there."""
    map_recording(strokes, DRY)
    kept = strokes.with_suffix(".beats")
    second = FIRST_S + BEAT_S * 9
    map_recording(strokes, MapWish(again=kept, at=(f"47={second:.2f}",)))
    beat_map = load_beat_map(kept)
    assert beat_map.second_of(47) == pytest.approx(second, abs=0.04)
    assert beat_map.second_of(48) == pytest.approx(second + 4 * BEAT_S, abs=0.04)


def test_what_was_typed_now_comes_before_what_is_kept(strokes: Path, tmp_path: Path) -> None:
    """Other bars, another file."""
    map_recording(strokes, DRY)
    goal = tmp_path / "other.beats"
    map_recording(strokes, MapWish(again=strokes.with_suffix(".beats"), bars="5-8", output=goal))
    assert load_beat_map(goal).bars == (5, 8)
    assert load_beat_map(strokes.with_suffix(".beats")).bars == (45, 48)


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        (replace(DRY, on="mic"), "beats are tapped on keys or MIDI"),
        (replace(DRY, on="drum"), "must be keys"),
        (replace(DRY, taps=Path("t.txt")), "from .*live. or from .*taps.FILE., not from both"),
        (replace(DRY, plot=Path("p.jpg")), "a picture ends in"),
    ],
)
def test_what_cannot_be_tapped_is_said_first(strokes: Path, wish: MapWish, words: str) -> None:
    """Before anything sounds."""
    with pytest.raises(RequestError, match=words):
        map_recording(strokes, wish)


def test_an_older_map_is_not_written_over_unasked(strokes: Path) -> None:
    """Minutes of work by ear may be in it."""
    strokes.with_suffix(".beats").write_text("1\t1.1\n2\t1.2\n", encoding="utf-8")
    with pytest.raises(RequestError, match="is there already: say with -o"):
        map_recording(strokes, DRY)


def test_hardly_a_tap_is_said_with_how_to_tap(strokes: Path) -> None:
    """From 14 s on the recording is over before anyone can tap."""
    with pytest.raises(TakeError, match=r"beats were tapped, and 4 or more are needed"):
        map_recording(strokes, replace(DRY, start="14"))


def test_a_map_that_keeps_nothing_cannot_be_mapped_again(strokes: Path, tmp_path: Path) -> None:
    """It was made elsewhere."""
    bare, odd = tmp_path / "bare.beats", tmp_path / "odd.beats"
    bare.write_text("1\t1.1\n2\t1.2\n", encoding="utf-8")
    odd.write_text("# kept: tapped 1.0 soon\n1\t1.1\n2\t1.2\n", encoding="utf-8")
    with pytest.raises(RequestError, match="keeps no taps or marks to map again from"):
        map_recording(strokes, MapWish(again=bare))
    with pytest.raises(FileError, match="does not read"):
        map_recording(strokes, MapWish(again=odd))
