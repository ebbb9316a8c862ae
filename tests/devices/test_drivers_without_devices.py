"""What the drivers say where something is missing, and how they end."""

import importlib
import socket
import struct
import sys
import time
from types import SimpleNamespace

import mido
import mido.sockets
import numpy as np
import pytest

from rhythmtrain.devices import portaudio, sound_simple
from rhythmtrain.devices.midi_in import MidiTaps, midi_over_tcp, open_midi
from rhythmtrain.devices.midi_ports import midi_names
from rhythmtrain.devices.portaudio import SoundDevice, chosen
from rhythmtrain.devices.ports import How, Tap
from rhythmtrain.devices.sound_simple import SimpleOutput, SimpleSound
from rhythmtrain.devices.system_clock import SystemClock
from rhythmtrain.errors import DeviceError, MissingPartError

WAIT_S = 120.0
CARD = SoundDevice(0, "Desk card", 2, 0, 48_000, "ALSA")
HEADSET = SoundDevice(3, "Headset", 1, 1, 44_100, "ALSA", usual_out=True, usual_in=True)


@pytest.mark.parametrize(
    ("library", "asked", "words"),
    [
        ("rtmidi", midi_names, "python-rtmidi is missing"),
        ("sounddevice", portaudio.load, "sounddevice is missing"),
        ("simpleaudio", sound_simple._load, "simpleaudio"),  # noqa: SLF001
    ],
)
def test_a_library_that_is_not_installed_is_named_with_its_command(
    monkeypatch: pytest.MonkeyPatch, library: str, asked: "type[object]", words: str
) -> None:
    """The player learns what to type."""
    monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(MissingPartError, match=words):
        asked()


def test_without_portaudio_the_package_to_install_is_named(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """The library is there, but not what it stands on."""

    class Bare:
        def find_spec(self, name: str, _path: object = None, _target: object = None) -> None:
            if name == "sounddevice":
                raise OSError("PortAudio library not found")

    monkeypatch.delitem(sys.modules, "sounddevice", raising=False)
    monkeypatch.setattr(sys, "meta_path", [Bare(), *sys.meta_path])
    importlib.invalidate_caches()
    with pytest.raises(MissingPartError, match="install libportaudio2"):
        portaudio.load()


def test_a_device_is_chosen_by_number_by_name_or_as_usual() -> None:
    """What one types is what one sees in the list."""
    devices = (CARD, HEADSET)
    assert chosen(devices, None, record=False) is HEADSET
    assert chosen(devices, "0", record=False) is CARD
    assert chosen(devices, "desk", record=False) is CARD
    assert chosen(devices, "head", record=True) is HEADSET
    with pytest.raises(DeviceError, match="no microphone is called 'desk': there are Headset"):
        chosen(devices, "desk", record=True)
    with pytest.raises(DeviceError, match="no microphone is there"):
        chosen((CARD,), None, record=True)


def test_notes_come_over_tcp_with_their_strength_and_release() -> None:
    """Without any MIDI system a program can still send notes, and each is stamped when it comes."""
    source = midi_over_tcp()
    with source:
        port = source._wire._server._socket.getsockname()[1]  # type: ignore[union-attr]  # noqa: SLF001
        with mido.sockets.connect("127.0.0.1", port) as sender:
            begun_s = time.perf_counter()
            sender.send(mido.Message("note_on", note=60, velocity=80))
            sender.send(mido.Message("control_change", control=1, value=3))
            sender.send(mido.Message("note_on", note=60, velocity=0))
            taps: list[Tap] = []
            while len(taps) < 2 and time.perf_counter() < begun_s + WAIT_S:
                taps += source.poll(0.1)
    assert [(tap.what, tap.velocity, tap.released) for tap in taps] == [
        ("60", 80, False),
        ("60", None, True),
    ]
    assert begun_s <= taps[0].time_s <= begun_s + WAIT_S
    assert source.ended is not None
    assert source.ended.how is How.STOPPED


def test_a_note_that_the_pedal_holds_ends_with_the_pedal() -> None:
    """A pianist who lets a key go and holds with the foot has cut nothing short."""
    source = midi_over_tcp()
    for message in (
        mido.Message("note_on", note=60, velocity=80),
        mido.Message("control_change", control=64, value=127),
        mido.Message("note_off", note=60),
        mido.Message("note_on", note=62, velocity=70),
        mido.Message("note_on", note=60, velocity=75),
        mido.Message("note_off", note=62),
        mido.Message("control_change", control=64, value=0),
        mido.Message("note_off", note=60),
    ):
        source._heard(message)  # noqa: SLF001
    taps = source.poll()
    assert [(tap.what, tap.released) for tap in taps] == [
        ("60", False),
        ("62", False),
        ("60", False),
        ("62", True),
        ("60", True),
    ]
    assert [tap.time_s for tap in taps] == sorted(tap.time_s for tap in taps)


def test_a_tcp_port_in_use_is_one_sentence() -> None:
    """Two programs cannot listen at one number."""
    with midi_over_tcp() as first:
        port = first._wire._server._socket.getsockname()[1]  # type: ignore[union-attr]  # noqa: SLF001
        with pytest.raises(DeviceError, match="choose another number"), midi_over_tcp(port=port):
            pass


ALSA = "MidiInAlsa::initialize: error creating ALSA sequencer client object."


def test_a_midi_system_that_does_not_answer_is_one_sentence(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A machine without ALSA's sequencer: what to type, and not the names of a library's classes."""
    pytest.importorskip("rtmidi")

    def silent(_backend: mido.Backend) -> list[str]:
        raise OSError(ALSA)

    monkeypatch.setattr(mido.Backend, "get_input_names", silent)
    with pytest.raises(DeviceError, match=r"modprobe snd-seq.*tap-with.keys") as told:
        midi_names()
    assert "(error creating ALSA sequencer client object)" in str(told.value)
    assert "::" not in str(told.value)


def test_a_pad_that_another_program_holds_is_one_sentence(monkeypatch: pytest.MonkeyPatch) -> None:
    """It is in the list, and cannot be opened."""
    pytest.importorskip("rtmidi")

    def busy(*_: object, **__: object) -> None:
        raise OSError("in use")

    monkeypatch.setattr(mido.Backend, "get_input_names", lambda _: ["Pad 1", "Desk keys"])
    monkeypatch.setattr(mido.Backend, "open_input", busy)
    with pytest.raises(DeviceError, match="no MIDI input is called 'drum': there are: Pad 1, Desk"):
        open_midi("drum")
    source = open_midi("desk")
    assert source.name == "Desk keys"
    with (
        pytest.raises(DeviceError, match=r"'Desk keys' cannot be opened \(in use\): close other"),
        source,
    ):
        pass


def test_without_any_pad_one_is_told_to_plug_one_in(monkeypatch: pytest.MonkeyPatch) -> None:
    """Not an empty list of names."""
    pytest.importorskip("rtmidi")
    monkeypatch.setattr(mido.Backend, "get_input_names", lambda _: [])
    with pytest.raises(DeviceError, match="no MIDI input is there: plug one in"):
        open_midi()


def test_a_sender_that_breaks_off_leaves_the_port_open_for_another() -> None:
    """A program that sends notes may crash and start again."""
    with midi_over_tcp() as source:
        port = source._wire._server._socket.getsockname()[1]  # type: ignore[union-attr]  # noqa: SLF001
        with socket.create_connection(("127.0.0.1", port)) as broken:
            linger = struct.pack("ii", 1, 0)
            broken.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, linger)
            broken.sendall(b"\x90\x3c")
        with mido.sockets.connect("127.0.0.1", port) as sender:
            sender.send(mido.Message("note_on", note=61, velocity=80))
            taps: list[Tap] = []
            end_s = time.perf_counter() + WAIT_S
            while not taps and time.perf_counter() < end_s:
                taps += source.poll(0.1)
        assert [tap.what for tap in taps] == ["61"]
        assert source.ended is None


def test_a_midi_port_that_is_gone_ends_the_source(monkeypatch: pytest.MonkeyPatch) -> None:
    """Looked for twice a second; the taps that came are still handed out."""
    wire = SimpleNamespace(close=lambda: None, there=lambda: False)
    source = MidiTaps("pad", lambda _heard: wire)
    monkeypatch.setattr("rhythmtrain.devices.midi_in.LOOK_FOR_PORT_S", 0.0)
    with source:
        source._heard(mido.Message("note_on", note=40, velocity=1))  # noqa: SLF001
        (tap,) = source.poll()
        assert tap.what == "40"
    assert source.ended is not None
    assert source.ended.reason == "the MIDI port 'pad' went away"


class _PlayedError(Exception):
    """What the library raises."""


class _Simple:
    """The four names of simpleaudio that are used: a loudspeaker that plays in an instant."""

    _simpleaudio = SimpleNamespace(SimpleaudioError=_PlayedError)

    def __init__(self, *, plays: int, refuses: bool = False) -> None:
        self.plays, self.refuses = plays, refuses
        self.samples = b""
        self.stopped = False

    def play_buffer(self, samples: bytes, _channels: int, _width: int, _rate: int) -> "_Simple":
        if self.refuses:
            raise _PlayedError("no device")
        self.samples = samples
        return self

    def is_playing(self) -> bool:
        self.plays -= 1
        return self.plays > 0

    def stop(self) -> None:
        self.stopped = True


def test_simpleaudio_gets_the_whole_track_and_its_stamps_are_called_unsure() -> None:
    """Keys beside it carry an uncertainty of 50 ms."""
    library = _Simple(plays=3)
    sound = SimpleSound(rate=8_000, channels=1, tail_s=0.0)
    track = np.array([0.0, 1.0, -1.0, 2.0], np.float32)
    with SimpleOutput([track], sound, library=library) as port:
        passed = port.poll(0.001)
        while port.ended is None:
            passed = port.poll(0.001)
    assert np.frombuffer(library.samples, "<i2")[:4].tolist() == [0, 32767, -32767, 32767]
    assert passed.stamps
    assert port.stamp_error_s >= 0.05
    assert port.poll() == type(passed)()
    assert library.stopped


def test_simpleaudio_that_stops_early_has_lost_its_loudspeaker() -> None:
    """Ten seconds of track cannot be over at once."""
    port = SimpleOutput(
        [np.zeros(80_000, np.float32)], SimpleSound(8_000, 1), library=_Simple(plays=0)
    )
    with port:
        port.poll()
    assert port.ended is not None
    assert port.ended.how is How.WENT_AWAY


def test_what_simpleaudio_cannot_do_is_said() -> None:
    """A rate it does not know, a loudspeaker that is not there."""
    with pytest.raises(DeviceError, match="not 12345"):
        SimpleOutput([], SimpleSound(rate=12_345), library=_Simple(plays=0))
    port = SimpleOutput([], library=_Simple(plays=0, refuses=True))
    with pytest.raises(DeviceError, match=r"cannot be opened \(no device\)"), port:
        pass


def test_simpleaudio_is_not_loaded_where_it_would_crash(monkeypatch: pytest.MonkeyPatch) -> None:
    """Python 3.12 and newer."""
    monkeypatch.setattr(sys, "version_info", (3, 12, 0))
    with pytest.raises(MissingPartError, match=r"Python 3\.12"):
        sound_simple._load()  # noqa: SLF001


def test_the_system_s_clock_goes_forward() -> None:
    """Two looks, in order."""
    clock = SystemClock()
    assert clock.now_s() <= clock.now_s()
