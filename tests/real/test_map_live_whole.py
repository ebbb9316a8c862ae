"""``map --live`` whole, and what a player does with the four bars that come of it.

Hands tap the beats of a recording that breathes, on keys of a real terminal, while a sound server
plays it; where these beats are is known.
"""

import json
import re
import shutil
import time
from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.rehearsal.cueing.cue import CueWish, tell_cue
from rhythmtrain.rehearsal.packing.pack import make_pack
from rhythmtrain.rehearsal.packing.wish import PackWish
from rhythmtrain.rehearsal.passages.passages import Wish, find_passage
from rhythmtrain.rehearsal.recorded.accompaniment import RecordingFiles
from rhythmtrain.rehearsal.tracks.recordings import accompanied
from rhythmtrain.storage.beat_maps import load_beat_map
from rhythmtrain.storage.places import drills_folder
from tests.real.player import Player, playing
from tests.real.servers import Server

DRILL, ENTRY = "32-sluice-gate-rag", 5
FIRST, LAST, FROM_S = 2, 5, 1.0
SHOWN = re.compile(r"^   (\d+):(\d\d\.\d)", re.MULTILINE)


def _beats_s() -> np.ndarray:
    """Return where the beats of the bars to be tapped are known to be."""
    beat_map = load_beat_map(drills_folder() / "sluice-gate-piano.beats")
    inside = (beat for beat in beat_map.beats if FIRST <= beat.bar <= LAST)
    return np.array([beat.time_s for beat in inside])


def _second_shown(seen: str) -> float:
    found = SHOWN.search(seen)
    return 60 * int(found[1]) + float(found[2]) if found else 0.0


def _tapped(player: Player, beats_s: np.ndarray) -> np.ndarray:
    """Tap the beats by the clock on the screen; return when, in seconds of the recording."""
    wanted_s = FROM_S + 0.5
    begun_s = player.until(lambda seen: _second_shown(seen) >= wanted_s)
    shown_s = _second_shown("\n".join(player.screen.rows))
    first = len(player.sent_s)
    for each_s in beats_s:
        while time.perf_counter() < begun_s + each_s - shown_s:
            player.look(0.003)
        player.tap()
    return np.array(player.sent_s[first:]) - begun_s + shown_s


@pytest.fixture
def piano(tmp_path: Path) -> Path:
    """Return the recording in a folder of one's own, without its map."""
    return Path(shutil.copy(drills_folder() / "sluice-gate-piano.ogg", tmp_path / "piano.ogg"))


def test_four_bars_tapped_live_are_mapped_and_make_cue_pack_and_entry(
    own_jack_server: Server, tmp_path: Path, piano: Path
) -> None:
    """The first way that is shown: a recording, five minutes, and an entry to practise."""
    words = ["map", str(piano), "--from", f"{FROM_S:g}", "--bars", f"{FIRST}-{LAST}"]
    words += ["--metre", "2/4", "--live", "--json"]
    truth_s = _beats_s()
    with playing(words, own_jack_server, tmp_path) as player:
        sent_s = _tapped(player, truth_s)
        code, answer = player.ended()
        assert code == 0
        assert player.restored
    told = json.loads(answer)
    kept = piano.with_suffix(".beats")
    found_s = np.array([beat["time_s"] for beat in told["beats"]])
    assert [beat["bar"] for beat in told["beats"][::2]] == list(range(FIRST, LAST + 1))
    assert np.abs(found_s - truth_s).max() < 0.03
    _assert_taps_fell_where_sent(kept, sent_s)
    _assert_cue_and_pack(tmp_path, RecordingFiles(piano, kept))
    _assert_entered(own_jack_server, tmp_path, RecordingFiles(piano, kept))


@pytest.mark.long
def test_tapping_that_is_stopped_keeps_what_was_tapped(
    pulse_server: Server, tmp_path: Path, piano: Path
) -> None:
    """Escape after three bars of four: a map of what was tapped, the terminal as it was."""
    words = ["map", str(piano), "--from", f"{FROM_S:g}", "--metre", "2/4", "--live", "--json"]
    truth_s = _beats_s()[:6]
    with playing(words, pulse_server, tmp_path, loudspeaker="pulse") as player:
        _tapped(player, truth_s)
        player.look(0.2)
        player.tap(b"\x1b")
        code, answer = player.ended()
        assert code == 0
        assert player.restored
    beats = json.loads(answer)["beats"]
    found_s = np.array([beat["time_s"] for beat in beats])
    assert len(found_s) == len(truth_s)
    assert np.abs(found_s - truth_s).max() < 0.05


def _assert_taps_fell_where_sent(kept: Path, sent_s: np.ndarray) -> None:
    """Hold the taps in the map against when they were sent: alike but for the start, to 12 ms."""
    lines = kept.read_text(encoding="utf-8").splitlines()
    rows = [line.partition("tapped ")[2] for line in lines if line.startswith("# kept: tapped")]
    taps_s = np.array([float(word) for row in rows for word in row.split()])
    off_s = taps_s - sent_s
    assert abs(np.median(off_s)) < 0.12
    assert np.abs(off_s - np.median(off_s)).max() < 0.012


def _assert_cue_and_pack(folder: Path, files: RecordingFiles) -> None:
    """Make the cue before the entry and its course from the four bars."""
    sound = folder / "cue.flac"
    cue = tell_cue(
        CueWish(DRILL, entry=ENTRY, output=sound, accompaniment=files.recording, beats=files.beats)
    )
    assert cue.document["entry"]["bar"] == ENTRY
    assert soundfile.info(str(sound)).duration > 4
    wish = PackWish(
        (DRILL,), entry_bar=ENTRY, rungs=1, ending="ogg",
        accompaniment=files.recording, beats=files.beats,
    )  # fmt: skip
    packed = make_pack(wish, folder / "pack")
    (part,) = packed.document["passages"]
    assert part["entry"] == {"bar": ENTRY, "count": "1"}
    assert {each["from_bar"] for each in part["tries"]} <= set(range(FIRST, ENTRY))


def _assert_entered(server: Server, home: Path, files: RecordingFiles) -> None:
    """Come in with the pianist, heard against the four bars."""
    part, whole = find_passage(DRILL, f"{ENTRY}"), find_passage(DRILL)
    laid = accompanied(Wish(DRILL), part, whole, files=files, lead_in=1).timeline
    due_s = [laid.seconds(note.at) for note in laid.notes]
    words = ["enter", DRILL, "--entry", str(ENTRY), "--tries", "1", "--json"]
    words += ["--accompaniment", str(files.recording), "--beats", str(files.beats)]
    with playing(words, server, home) as player:
        begun_s = player.until(lambda seen: f"   Bar {ENTRY}" in seen)
        for each_s in due_s:
            while time.perf_counter() < begun_s + each_s:
                player.look(0.003)
            player.tap()
        code, answer = player.ended()
        assert code == 0
    (tried,) = json.loads(answer)["tries"]
    assert tried["in_time"] is True
    assert tried["lead_bars"] <= ENTRY - FIRST
