"""``clap`` and ``enter`` whole with a recorded accompaniment: sound server, terminal, a player.

The recording breathes, so that a player who came in by the click alone would be told off: the
hands here play where the pianist's beats fall.
"""

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest

from rhythmtrain.rehearsal.passages.passages import Wish, find_passage
from rhythmtrain.rehearsal.tracks.recordings import accompanied
from rhythmtrain.timing.timeline import Timeline
from tests.real.player import best_of, playing
from tests.real.servers import Server

DRILL = "32-sluice-gate-rag"
BARS, ENTRY = "5-7", 5
LAYERS = "accompaniment,click,count"
SERVERS = {"jack": ("own_jack_server", "loopback"), "pulse": ("pulse_server", "pulse")}
KEY_ERROR_S, MOST_LATE_MS = 0.012, 150
Told = dict[str, Any]


@pytest.fixture(scope="module")
def bars_timed() -> Timeline:
    """Return three bars of the clarinet laid on the piano, one bar of the piano before."""
    part, whole = find_passage(DRILL, BARS), find_passage(DRILL)
    return accompanied(Wish(DRILL), part, whole, lead_in=1).timeline


def _notes_s(timeline: Timeline) -> "list[float]":
    """Return when each note comes after the beginning of the passage."""
    return [timeline.seconds(note.at) for note in timeline.notes]


def _clapped(server: Server, home: Path, timed: Timeline, loudspeaker: str) -> Told:
    """Clap with the recording as the pianist goes; return what was told, and how far each was off."""
    words = ["clap", DRILL, "--bars", BARS, "--layers", LAYERS, "--lead-in", "1", "--json"]
    with playing(words, server, home, loudspeaker=loudspeaker) as player:
        begun_s = player.until(lambda seen: f"Bar {ENTRY}" in seen)
        player.tap_at(begun_s + each_s for each_s in _notes_s(timed))
        code, answer = player.ended()
        assert code == 0
        assert player.restored
        sent, said = np.array(player.sent_s), player.screen.said
    told: Told = json.loads(answer)
    assert told["timing"] == "recording"
    assert told["live"]["ended"] == "finished"
    onsets = np.array(told["take"]["onsets"])
    off = onsets - onsets[0] - (sent[: len(onsets)] - sent[0])
    return told | {"off_s": np.abs(off - np.median(off)), "said": said}


@pytest.mark.parametrize("which", ["jack", "pulse"])
def test_clap_with_the_recording_whole_through_a_server(
    request: pytest.FixtureRequest, tmp_path: Path, bars_timed: Timeline, which: str
) -> None:
    """Hands that follow the pianist are in time, all of them, and the bars do not last alike.

    A server that is held up loses sound, and one of the two tells nobody; then it is done again.
    """
    fixture, loudspeaker = SERVERS[which]
    server: Server = request.getfixturevalue(fixture)
    notes = len(bars_timed.notes)

    def good(told: Told) -> bool:
        in_time = {note["verdict"] for note in told["notes"]} == {"in time"}
        late_ms = abs(told["offset_ms"]["median"])
        placed = which == "pulse" or told["live"]["lost"] or told["off_s"].max() < KEY_ERROR_S
        return in_time and told["tally"]["matched"] == notes and late_ms < MOST_LATE_MS and placed

    told = best_of(lambda: _clapped(server, tmp_path, bars_timed, loudspeaker), good)
    assert told["kept_as"], told["said"]
    assert (told["tally"]["matched"], told["tally"]["missed"]) == (notes, 0)
    assert {note["verdict"] for note in told["notes"]} == {"in time"}
    assert np.median(told["off_s"]) < KEY_ERROR_S
    if which == "jack" and not told["live"]["lost"]:
        assert np.max(told["off_s"]) < KEY_ERROR_S
    assert abs(told["offset_ms"]["median"]) < MOST_LATE_MS


@pytest.mark.parametrize("which", ["jack", "pulse"])
def test_enter_with_the_recording_whole_through_a_server(
    request: pytest.FixtureRequest, tmp_path: Path, bars_timed: Timeline, which: str
) -> None:
    """Two bars or four of the piano lead in; one comes in with the pianist, and that is in time."""
    fixture, loudspeaker = SERVERS[which]
    server: Server = request.getfixturevalue(fixture)
    words = ["enter", DRILL, "--entry", str(ENTRY), "--tries", "1", "--json"]
    last_s = bars_timed.seconds(bars_timed.bars[-1].stop)
    due_s = [each_s for each_s in _notes_s(bars_timed) if each_s < last_s]

    def once() -> Told:
        with playing(words, server, tmp_path, loudspeaker=loudspeaker) as player:
            begun_s = player.until(lambda seen: f"   Bar {ENTRY}" in seen)
            player.tap_at(begun_s + each_s for each_s in due_s)
            code, answer = player.ended()
            assert code == 0
            assert player.restored
        told: Told = json.loads(answer)
        return told | {"said": player.screen.said}

    told = best_of(once, lambda told: _came_in(told["tries"][0]))
    (tried,) = told["tries"]
    assert told["timing"] == "recording"
    assert told["entry"] == {"bar": ENTRY, "count": "1"}
    assert tried["lead_bars"] in {2, 4}
    assert _came_in(tried)
    assert tried["kept_as"], told["said"]


def _came_in(tried: Told) -> bool:
    """Return whether a try was in time, and not late by more than a screen and a hand are."""
    return tried["in_time"] is True and abs(tried["offset_ms"]) < MOST_LATE_MS
