"""What a take is played to and heard with: the machine's own devices, as typed."""

import sys
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from importlib.util import find_spec

from rhythmtrain.devices.portaudio import chosen, sound_devices
from rhythmtrain.devices.ports import Block, Output, TapSource
from rhythmtrain.devices.sound_card import SoundCard
from rhythmtrain.devices.sound_duplex import SoundDuplex, SoundOutput
from rhythmtrain.devices.sound_simple import LAST_PYTHON, STAMP_ERROR_S, USUAL, SimpleOutput
from rhythmtrain.devices.system_clock import SystemClock
from rhythmtrain.errors import MissingPartError, RequestError
from rhythmtrain.rehearsal.live.live import Rig
from rhythmtrain.remedies import option, remedy
from rhythmtrain.report.take.commands import as_options

KEYS, MIDI, MIC = "keys", "midi", "mic"
SOURCES = {KEYS: "keys", MIDI: "midi", MIC: "audio"}
TCP = "tcp:"


@dataclass(frozen=True, slots=True)
class TapsFrom:
    """What is listened to: "keys", "midi" or "mic", and which port or device of that kind."""

    kind: str = KEYS
    which: str | None = None


def taps_from(text: str) -> TapsFrom:
    """Return what ``--from`` names: "keys", "midi", "midi:PORT", "mic", "mic:DEVICE".

    Raises:
        RequestError: something else.
    """
    kind, colon, which = text.partition(":")
    if kind not in SOURCES or (kind == KEYS and colon) or (colon and not which.strip()):
        raise RequestError(
            f"{option('from')} must be keys, midi, midi:PORT, mic or mic:DEVICE, got {text!r}"
            f"{remedy('list-devices')}"
        )
    return TapsFrom(kind, which.strip() or None)


def as_typed(source: str, kind: str, loudspeaker: str | None) -> str:
    """Return the options by which the next take is heard as this one was, each after a blank."""
    wishes = {
        "from": source if source != KEYS else None,
        "as": kind if kind != "claps" else None,
        "loudspeaker": loudspeaker,
    }
    return as_options(wishes)


def real_rig(wanted: TapsFrom, loudspeaker: str | None = None) -> Rig:
    """Return the devices of this machine that ``wanted`` and ``loudspeaker`` name.

    Raises:
        DeviceError, MissingPartError: there is none, or the library below it is missing.
    """
    try:
        devices = sound_devices()
    except MissingPartError:
        if wanted.kind == MIC or not simple_is_there():
            raise
        return _simple_rig(wanted)
    out = chosen(devices, loudspeaker, record=False)
    microphone = wanted.which if wanted.kind == MIC else None
    card = replace(SoundCard(loudspeaker, microphone), rate=out.rate)

    def sound(blocks: Iterable[Block]) -> Output:
        return (SoundDuplex if wanted.kind == MIC else SoundOutput)(blocks, card)

    taps, source = _tapped(wanted), SOURCES[wanted.kind]
    return Rig(SystemClock(), sound, taps, _stopping(wanted), source, out.rate)


def _simple_rig(wanted: TapsFrom) -> Rig:
    """Return a rig for a machine without PortAudio, which plays and tells nothing of its clock."""
    taps, source = _tapped(wanted), SOURCES[wanted.kind]
    stop = _stopping(wanted)
    return Rig(SystemClock(), SimpleOutput, taps, stop, source, USUAL.rate, STAMP_ERROR_S)


def simple_is_there() -> bool:
    """Return whether simpleaudio is installed and works on this Python."""
    return sys.version_info[:2] <= LAST_PYTHON and find_spec("simpleaudio") is not None


def _stopping(wanted: TapsFrom) -> Callable[[], TapSource] | None:
    """Return what makes the keys that only stop, None where the taps can or nobody types."""
    return None if wanted.kind == KEYS or not sys.stdin.isatty() else terminal_keys


def terminal_keys() -> TapSource:
    """Return the keys of this terminal or console."""
    if sys.platform == "win32":
        from rhythmtrain.devices.keys_windows import ConsoleKeys  # noqa: PLC0415  (Windows only)

        return ConsoleKeys()
    from rhythmtrain.devices.keys import TerminalKeys  # noqa: PLC0415  (not on Windows)

    return TerminalKeys()


def _tapped(wanted: TapsFrom) -> Callable[[], TapSource] | None:
    """Return what makes the source of taps, None where a microphone listens."""
    if wanted.kind == KEYS:
        return terminal_keys
    if wanted.kind == MIC:
        return None
    from rhythmtrain.devices.midi_in import (  # noqa: PLC0415  (loads mido's ports)
        midi_over_tcp,
        open_midi,
    )

    which = wanted.which or ""
    if which.startswith(TCP):
        host, _, port = which.removeprefix(TCP).rpartition(":")
        if not port.isdigit():
            raise RequestError(f"midi:tcp: wants HOST:NUMBER, got {which.removeprefix(TCP)!r}")
        return lambda: midi_over_tcp(host or "127.0.0.1", int(port))
    return lambda: open_midi(wanted.which)
