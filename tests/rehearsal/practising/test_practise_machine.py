"""The machine of a session: what is typed becomes devices, ears and a way to wait."""

import sys

import pytest

from rhythmtrain.errors import DeviceError
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.practising.machine import machine_for
from rhythmtrain.rehearsal.practising.wait import KeysWaiting, NoWaiting
from rhythmtrain.rehearsal.practising.wish import PractiseWish, means_of
from rhythmtrain.timing.timeline import lay_out
from tests.simulate.portaudio import HandAudio


@pytest.fixture
def audio(monkeypatch: pytest.MonkeyPatch) -> HandAudio:
    """Put a sound library of our own in place of the real one."""
    audio = HandAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", audio)
    return audio


@pytest.mark.parametrize(("source", "heard"), [("keys", "keys"), ("mic", "audio")])
def test_takes_on_real_devices_are_kept(audio: HandAudio, source: str, heard: str) -> None:
    """And every take opens the devices that were typed."""
    wish = PractiseWish("off-beats", source=source, instrument="clarinet")
    machine = machine_for(wish, means_of(wish))
    assert machine.keeps
    assert isinstance(machine.waiting, KeysWaiting)
    assert machine.rig(lay_out(find_passage("off-beats")), 0).source == heard
    assert machine.clock is not None
    assert machine.clock.now_s() <= machine.clock.now_s()
    assert not audio.streams, "nothing sounds before a task begins"


def test_one_counts_aloud_where_one_claps_before_the_microphone(audio: HandAudio) -> None:
    """Whoever blows or sings does not."""
    wish = PractiseWish("off-beats", source="mic", instrument="clarinet")
    machine = machine_for(wish, means_of(wish))
    assert [machine.ear(kind).aloud for kind in ("claps", "wind", "voice")] == [True, False, False]
    wish = PractiseWish("off-beats")
    assert not machine_for(wish, means_of(wish)).ear("claps").aloud
    assert not audio.streams


def test_a_machine_without_a_loudspeaker_says_so_before_anything_else(
    audio: HandAudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Not after the first page."""
    monkeypatch.setattr(audio, "query_devices", list)
    wish = PractiseWish("off-beats")
    with pytest.raises(DeviceError, match="no loudspeaker"):
        machine_for(wish, means_of(wish))


def test_a_dry_run_keeps_nothing_and_waits_for_nobody() -> None:
    """It touches no device."""
    wish = PractiseWish("off-beats", dry_run=True)
    machine = machine_for(wish, means_of(wish))
    assert not machine.keeps
    assert isinstance(machine.waiting, NoWaiting)
