"""What is listened to, as typed."""

import sys
from types import SimpleNamespace

import numpy as np
import pytest

from rhythmtrain.devices.sound_simple import SimpleOutput
from rhythmtrain.errors import MissingPartError, RequestError
from rhythmtrain.rehearsal.live.rigs import TapsFrom, as_typed, real_rig, taps_from
from tests.simulate.portaudio import HandAudio


@pytest.mark.parametrize(
    ("text", "wanted"),
    [
        ("keys", TapsFrom("keys")),
        ("midi", TapsFrom("midi")),
        ("midi:Pad 3", TapsFrom("midi", "Pad 3")),
        ("midi:tcp:127.0.0.1:9000", TapsFrom("midi", "tcp:127.0.0.1:9000")),
        ("mic", TapsFrom("mic")),
        ("mic:USB: 2", TapsFrom("mic", "USB: 2")),
    ],
)
def test_a_port_or_device_may_be_named_after_a_colon(text: str, wanted: TapsFrom) -> None:
    """Names hold blanks and colons of their own."""
    assert taps_from(text) == wanted


@pytest.mark.parametrize("text", ["", "key", "keys:space", "mic: ", "MIDI"])
def test_anything_else_is_refused_with_what_is_allowed(text: str) -> None:
    """And with the command that lists the names."""
    with pytest.raises(RequestError, match="list-devices"):
        taps_from(text)


def test_what_is_typed_next_hears_as_this_time() -> None:
    """Whoever clapped before the microphone goes on so."""
    assert as_typed("keys", "claps", None) == ""
    assert as_typed("mic:USB mic", "voice", "desk") == (
        ' --from "mic:USB mic" --as voice --loudspeaker desk'
    )


@pytest.fixture
def audio(monkeypatch: pytest.MonkeyPatch) -> HandAudio:
    """Put a sound library of our own in place of the real one."""
    audio = HandAudio()
    monkeypatch.setitem(sys.modules, "sounddevice", audio)
    return audio


@pytest.mark.parametrize(
    ("wanted", "loudspeaker", "source", "taps", "rate"),
    [
        (TapsFrom("keys"), None, "keys", True, 48_000),
        (TapsFrom("mic"), None, "audio", False, 48_000),
        (TapsFrom("mic", "Headset"), "desk", "audio", False, 44_100),
        (TapsFrom("midi", "tcp::0"), "desk", "midi", True, 44_100),
    ],
    ids=str,
)
def test_what_was_typed_becomes_devices_at_the_rate_of_the_loudspeaker(
    audio: HandAudio, wanted: TapsFrom, loudspeaker: str | None, source: str, *, taps: bool,
    rate: int,
) -> None:  # fmt: skip
    """The loudspeaker keeps the rate it runs at, whatever else uses it."""
    rig = real_rig(wanted, loudspeaker)
    assert (rig.source, rig.rate, rig.taps is not None) == (source, rate, taps)
    assert rig.start_error_s == 0.0
    with rig.sound([np.zeros(256, np.float32)]):
        (stream,) = audio.streams
        assert stream.settings["samplerate"] == rate
        assert stream.records is (source == "audio")


def test_midi_over_tcp_is_opened_at_the_number_that_was_typed(audio: HandAudio) -> None:
    """Any number that is free, or the one that is said."""
    assert not audio.streams
    rig = real_rig(TapsFrom("midi", "tcp:0"))
    assert rig.taps is not None
    with rig.taps() as pads:
        assert pads.name == "127.0.0.1:0"
        assert pads.ended is None
    with pytest.raises(RequestError, match="wants HOST:NUMBER, got 'here'"):
        real_rig(TapsFrom("midi", "tcp:here"))


def test_without_portaudio_keys_play_through_simpleaudio_and_a_microphone_does_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A machine without PortAudio; simpleaudio is looked for, and loaded only when it is needed."""
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    monkeypatch.setattr("rhythmtrain.rehearsal.live.rigs.LAST_PYTHON", sys.version_info[:2])
    monkeypatch.setattr("rhythmtrain.rehearsal.live.rigs.find_spec", lambda _: object())
    rig = real_rig(TapsFrom("keys"))
    assert (rig.source, rig.rate) == ("keys", 44_100)
    assert rig.start_error_s >= 0.05
    assert rig.sound is SimpleOutput
    with pytest.raises(MissingPartError, match="sounddevice is missing"):
        real_rig(TapsFrom("mic"))
    monkeypatch.setattr("rhythmtrain.rehearsal.live.rigs.find_spec", lambda _: None)
    with pytest.raises(MissingPartError, match="sounddevice is missing"):
        real_rig(TapsFrom("keys"))
    assert "simpleaudio" not in sys.modules


def test_beside_pads_a_terminal_s_keys_stop_and_without_one_nothing_does(
    monkeypatch: pytest.MonkeyPatch, audio: HandAudio
) -> None:
    """Escape works with hands on a pad; a script has nobody to press it."""
    assert not audio.streams
    for isatty, stops in ((True, True), (False, False)):
        monkeypatch.setattr(sys, "stdin", SimpleNamespace(isatty=lambda at=isatty: at, fileno=int))
        rig = real_rig(TapsFrom("midi", "tcp:0"))
        assert (rig.stop is not None) is stops
        if rig.stop is not None:
            assert rig.stop().name == "keys"
