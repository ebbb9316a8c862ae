"""``map --live`` whole, and what a player does with the four bars that come of it.

Hands tap the beats of a recording that breathes, on keys of a real terminal, while a sound server
plays it; where these beats are is known.
"""

import json
import re
import shutil
from dataclasses import dataclass
from itertools import count
from pathlib import Path
from typing import Any

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
from tests.real.player import Player, best_of, playing
from tests.real.servers import Server

DRILL, ENTRY = "32-sluice-gate-rag", 5
FIRST, LAST, FROM_S = 2, 5, 1.0
MISSED_S, STRAYS_S = 0.03, 0.012
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
    player.tap_at(begun_s - shown_s + beats_s)
    return np.array(player.sent_s[first:]) - begun_s + shown_s


@dataclass(frozen=True)
class Mapped:
    """What was told of a recording that was tapped, where its map is kept, how far taps fell off."""

    told: dict[str, Any]
    files: RecordingFiles
    off_s: np.ndarray

    @property
    def missed_s(self) -> float:
        """Return how far the beat that was found worst lies from where it is known to be."""
        found_s = np.array([beat["time_s"] for beat in self.told["beats"]])
        truth_s = _beats_s()
        return float(np.abs(found_s - truth_s).max()) if len(found_s) == len(truth_s) else np.inf

    @property
    def strays_s(self) -> float:
        """Return how far the worst tap fell from where it was sent, but for the start."""
        return float(np.abs(self.off_s - np.median(self.off_s)).max())


def _piano(folder: Path) -> Path:
    """Return the recording in a folder of one's own, without its map."""
    folder.mkdir()
    return Path(shutil.copy(drills_folder() / "sluice-gate-piano.ogg", folder / "piano.ogg"))


def _mapped(server: Server, folder: Path) -> Mapped:
    """Tap four bars of the recording in a new ``folder``."""
    piano = _piano(folder)
    words = ["map", str(piano), "--from", f"{FROM_S:g}", "--bars", f"{FIRST}-{LAST}"]
    words += ["--metre", "2/4", "--live", "--json"]
    with playing(words, server, folder) as player:
        sent_s = _tapped(player, _beats_s())
        code, answer = player.ended()
        assert code == 0
        assert player.restored
    kept = piano.with_suffix(".beats")
    return Mapped(json.loads(answer), RecordingFiles(piano, kept), _kept_s(kept) - sent_s)


def test_four_bars_tapped_live_are_mapped_and_make_cue_pack_and_entry(
    own_jack_server: Server, tmp_path: Path
) -> None:
    """The first way that is shown: a recording, five minutes, and an entry to practise.

    Taps fall in the map where they were sent, alike but for the start, to 12 ms.
    """
    numbers = count()
    mapped = best_of(
        lambda: _mapped(own_jack_server, tmp_path / f"{next(numbers)}"),
        lambda each: each.missed_s < MISSED_S and each.strays_s < STRAYS_S,
    )
    bars = [beat["bar"] for beat in mapped.told["beats"][::2]]
    assert bars == list(range(FIRST, LAST + 1))
    assert mapped.missed_s < MISSED_S
    assert abs(np.median(mapped.off_s)) < 0.12
    assert mapped.strays_s < STRAYS_S
    _assert_cue_and_pack(tmp_path, mapped.files)
    _assert_entered(own_jack_server, tmp_path, mapped.files)


@pytest.mark.long
def test_tapping_that_is_stopped_keeps_what_was_tapped(
    pulse_server: Server, tmp_path: Path
) -> None:
    """Escape after three bars of four: a map of what was tapped, the terminal as it was."""
    piano = _piano(tmp_path / "own")
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


def _kept_s(kept: Path) -> np.ndarray:
    """Return the taps that a map keeps, in seconds of the recording."""
    lines = kept.read_text(encoding="utf-8").splitlines()
    rows = [line.partition("tapped ")[2] for line in lines if line.startswith("# kept: tapped")]
    return np.array([float(word) for row in rows for word in row.split()])


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

    def once() -> dict[str, Any]:
        with playing(words, server, home) as player:
            begun_s = player.until(lambda seen: f"   Bar {ENTRY}" in seen)
            player.tap_at(begun_s + each_s for each_s in due_s)
            code, answer = player.ended()
            assert code == 0
        told: dict[str, Any] = json.loads(answer)
        return told

    (tried,) = best_of(once, lambda told: told["tries"][0]["in_time"] is True)["tries"]
    assert tried["in_time"] is True
    assert tried["lead_bars"] <= ENTRY - FIRST
