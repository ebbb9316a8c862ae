"""Measuring the sound delay, and listing what can be used, on the shipped fakes."""

import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.live.devices import list_devices
from rhythmtrain.rehearsal.live.latency import LatencyWish, measure_latency
from rhythmtrain.report.devices_text import Listing, Usable, devices_text
from rhythmtrain.report.latency_text import Measured, latency_text
from tests.rehearsal.watching import Watching


@pytest.mark.parametrize("source", ["keys", "midi"])
def test_tapping_to_a_click_gives_the_delay_with_the_player_s_own_lead(source: str) -> None:
    """The fakes are 25 ms late, the invented player 15 ms early: the two cannot be told apart."""
    stage = Watching()
    told = measure_latency(LatencyWish(source, dry_run=True), stage)
    assert told.document["how"] == "tapped"
    assert told.document["delay_ms"] == pytest.approx(25 - 15, abs=4)
    assert told.document["error_ms"] < 10
    assert told.document["kept"] is False
    assert "how much you yourself tap before or after a click" in " ".join(told.text.split())
    assert "Tap with every click" in "\n".join(stage.screens[0])


def test_the_microphone_measures_what_the_room_adds_and_nobody_s_lead() -> None:
    """The fakes are 25 ms late: found to a fraction of a millisecond."""
    stage = Watching()
    told = measure_latency(LatencyWish(dry_run=True), stage)
    assert told.document["how"] == "heard"
    assert told.document["delay_ms"] == pytest.approx(25, abs=0.1)
    assert "Be silent" in "\n".join(stage.screens[0])


def test_what_is_measured_through_the_air_is_said_without_the_player() -> None:
    """Nobody tapped, so nobody's lead is in it."""
    text = latency_text(Measured(0.0312, 0.0004), "loopback", kept=True)
    assert "Sound delay of loopback: 31.2 ms, give or take 0.4 ms." in text
    assert "tap" not in text
    assert "It is kept for this device" in text


def test_a_source_that_does_not_exist_is_refused() -> None:
    """With the ones that do."""
    with pytest.raises(RequestError, match=r"from. must be keys, midi"):
        measure_latency(LatencyWish("drum", dry_run=True))


def test_the_list_of_fakes_needs_no_hardware() -> None:
    """A dry run shows what the list looks like."""
    told = list_devices(dry_run=True)
    assert set(told.document) == {"loudspeakers", "microphones", "midi", "keys"}
    assert "fake sound card" in told.text
    assert all(kind["usable"] for kind in told.document.values())


def test_on_this_machine_everything_is_listed_or_its_absence_explained() -> None:
    """Never an empty line that leaves one guessing, and never a failure."""
    for kind in list_devices().document.values():
        assert kind["usable"] or len(kind["reason"]) > 20


def test_a_kind_without_devices_gives_its_reason() -> None:
    """What to install or to plug in."""
    text = devices_text(
        [
            Listing("loudspeakers", (Usable("loopback", "48000 samples a second", usual=True),)),
            Listing("midi", (), "PortAudio is missing: install libportaudio2"),
        ]
    )
    assert "  loopback  48000 samples a second, usual" in text
    assert "none:" in text
    assert "install libportaudio2" in text
