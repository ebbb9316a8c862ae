"""A stream of PortAudio's, turned by hand: what it hands on, and the ways in which it ends."""

import sys
import time
from types import SimpleNamespace

import numpy as np
import pytest

from rhythmtrain.devices import sound_queue, stream_watch
from rhythmtrain.devices.portaudio import sound_devices
from rhythmtrain.devices.ports import How, Passed, gathered
from rhythmtrain.devices.sound_card import SoundCard
from rhythmtrain.devices.sound_duplex import SoundDuplex, SoundOutput
from rhythmtrain.errors import DeviceError
from tests.simulate.portaudio import BLOCK, CALM, HandAudio

CARD = SoundCard("Headset", "Headset", tail_s=0.0)
TRACK = np.linspace(0, 1, 4 * BLOCK, dtype=np.float32)


@pytest.fixture
def library(monkeypatch: pytest.MonkeyPatch) -> HandAudio:
    """Put the library of our own in place of the real one."""
    audio = HandAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", audio)
    return audio


def test_what_is_recorded_carries_the_frame_that_was_played_with_it(library: HandAudio) -> None:
    """One count for loudspeaker and microphone, from the first frame to the last."""
    got: list[Passed] = []
    with SoundDuplex([TRACK], CARD) as port:
        assert port.name == "Headset"
        assert port.claimed_delay_s == pytest.approx(0.02)
        (stream,) = library.streams
        while port.ended is None:
            if stream.active:
                stream.turn()
            got.append(port.poll())
    assert port.ended.how is How.FINISHED
    passed = gathered(got)
    assert [each.frame for each in passed.recorded] == [0, 256, 512, 768, 1024]
    assert [each.frame for each in passed.stamps] == [0, 256, 512, 768, 1024]
    assert np.array_equal(np.concatenate(stream.played)[: len(TRACK), 0], TRACK)
    assert not passed.xruns
    assert stream.closed


def test_lost_sound_is_told_with_the_frames_it_was_lost_in(library: HandAudio) -> None:
    """Inside a take every loss counts, and where it was."""
    with SoundDuplex([TRACK], CARD) as port:
        (stream,) = library.streams
        stream.turn()
        stream.turn(SimpleNamespace(output_underflow=True, input_overflow=True))
        stream.turn(CALM)
        passed = port.poll(0.01)
    assert {(xrun.first, xrun.end, xrun.what) for xrun in passed.xruns} == {
        (256, 512, "played"), (256, 512, "recorded"),
    }  # fmt: skip


def test_a_device_that_is_pulled_out_ends_the_stream_and_leaves_what_was_heard(
    library: HandAudio,
) -> None:
    """The driver says nothing but that it is no longer active."""
    with SoundDuplex([TRACK], CARD) as port:
        (stream,) = library.streams
        stream.turn()
        stream.active = False
        assert len(port.poll().recorded) == 1
    assert port.ended is not None
    assert (port.ended.how, port.ended.reason) == (
        How.WENT_AWAY, "the sound device 'Headset' went away",
    )  # fmt: skip
    assert port.poll(1.0) == Passed()


def test_a_device_that_never_calls_back_has_stopped_answering(
    library: HandAudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """No take waits for ever."""
    monkeypatch.setattr(stream_watch, "SILENT_S", -1.0)
    with SoundOutput([TRACK], CARD) as port:
        assert library.streams[0].active
        port.poll()
    assert port.ended is not None
    assert "stopped answering" in port.ended.reason


def test_a_device_that_calls_back_again_after_it_was_given_up_changes_nothing(
    library: HandAudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A sound server that was held up for long goes on: whoever was told the end is not told otherwise."""
    monkeypatch.setattr(stream_watch, "SILENT_S", -1.0)
    with SoundDuplex([TRACK], CARD) as port:
        port.poll()
        told = port.ended
        assert told is not None
        library.streams[0].turn()
        assert port.ended is told
    assert port.ended is told
    assert told.how is How.WENT_AWAY


def test_a_device_whose_rate_is_changed_under_it_ends_the_stream(
    library: HandAudio, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another headset: the track would sound lower, and every clap would be misplaced."""
    monkeypatch.setattr(sound_queue, "AHEAD_S", 60.0)
    clock = SimpleNamespace(now_s=0.0)
    monkeypatch.setattr(time, "perf_counter", lambda: clock.now_s)
    long = np.zeros(48_000 * 30, np.float32)
    with SoundOutput([long], CARD) as port:
        (stream,) = library.streams
        while port.ended is None and clock.now_s < 20:
            clock.now_s += 4800 / 44_100
            stream.turn(frames=4800)
            port.poll()
        ended_s = clock.now_s
    assert port.ended is not None
    assert "changed its sample rate" in port.ended.reason
    assert 6 <= ended_s < 8


def test_a_stream_that_is_stopped_is_closed_once(library: HandAudio) -> None:
    """Escape, and then the end of the block."""
    with SoundOutput([TRACK], CARD) as port:
        port.stop()
        port.stop()
    assert port.ended is not None
    assert port.ended.how is How.STOPPED
    assert library.streams[0].closed


@pytest.mark.parametrize("before_s", [0.005])
def test_a_device_that_refuses_leaves_everything_as_it_was(
    monkeypatch: pytest.MonkeyPatch, before_s: float
) -> None:
    """One sentence without the library's numbers, and no thread left behind."""
    monkeypatch.setitem(sys.modules, "sounddevice", HandAudio("Invalid sample rate"))
    assert sys.getswitchinterval() == pytest.approx(before_s)
    port = SoundOutput([TRACK], CARD)
    with pytest.raises(DeviceError, match=r"at 48000 samples a second \(Stream: Invalid") as told:
        port.__enter__()
    assert "PaErrorCode" not in str(told.value)
    assert "its own rate, 48000" in str(told.value)
    assert sys.getswitchinterval() == pytest.approx(before_s)
    assert not port._track._maker.is_alive()  # noqa: SLF001


def test_a_sound_system_that_does_not_answer_is_one_sentence(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """It can be started again."""
    monkeypatch.setitem(sys.modules, "sounddevice", HandAudio(silent=True))
    with pytest.raises(DeviceError, match=r"does not answer .*: start it again"):
        sound_devices()
