"""MIDI inputs through mido and python-rtmidi: which are there, and an open one.

A machine may have two MIDI systems: its usual one (ALSA, CoreMIDI, Windows) and a JACK server.  The
ports of both are offered, the usual ones first.  A JACK server that does not run is not started.
"""

import os
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import mido

from rhythmtrain.devices.portaudio import quiet
from rhythmtrain.devices.waking import going_first
from rhythmtrain.errors import DeviceError, MissingPartError
from rhythmtrain.remedies import remedy

OUR_NAME = "rhythmtrain"
BACKEND = "mido.backends.rtmidi"
JACK = "UNIX_JACK"
NO_RTMIDI = (
    "python-rtmidi is missing: install it with `pip install python-rtmidi` (there is none for "
    f"Python 3.13 yet: use 3.11 or 3.12), or {remedy('tap-with', 'keys')}"
)


@dataclass(frozen=True, slots=True)
class MidiPort:
    """A MIDI input: its name, and the library's name of its system (None: the usual one)."""

    name: str
    api: str | None = None


def midi_ports(api: str | None = None) -> tuple[MidiPort, ...]:
    """Return the MIDI inputs that are there now, no name twice.

    ``api`` is the library's name of the one system to ask ("UNIX_JACK", "LINUX_ALSA").

    Raises:
        MissingPartError: python-rtmidi is not installed.
        DeviceError: the machine's MIDI system does not answer.
    """
    if api is not None:
        return tuple(MidiPort(name, api) for name in _names(api))
    beside = _of_jack()
    try:
        usual = tuple(MidiPort(name) for name in _names(None))
    except DeviceError:
        if not beside:
            raise
        usual = ()
    known = {port.name for port in usual}
    return (*usual, *(port for port in beside if port.name not in known))


def midi_names(api: str | None = None) -> tuple[str, ...]:
    """Return the names of the MIDI inputs that are there now; as ``midi_ports``."""
    return tuple(port.name for port in midi_ports(api))


def _of_jack() -> tuple[MidiPort, ...]:
    """Return the inputs at a JACK server; none where none runs."""
    library = _rtmidi()
    if library.API_UNIX_JACK not in library.get_compiled_api():
        return ()
    os.environ.setdefault("JACK_NO_START_SERVER", "1")
    try:
        with quiet():
            return midi_ports(JACK)
    except DeviceError:
        return ()


def _names(api: str | None) -> tuple[str, ...]:
    backend = _backend(api)
    try:
        return tuple(dict.fromkeys(backend.get_input_names()))
    except (OSError, RuntimeError, ValueError) as error:
        why = str(error).split("::")[-1].partition(": ")[2].rstrip(".") or str(error)
        raise DeviceError(
            f"the MIDI system of this machine does not answer ({why}): on Linux load it with "
            f"`sudo modprobe snd-seq`, or {remedy('tap-with', 'keys')}"
        ) from error


def _rtmidi() -> Any:
    try:
        import rtmidi  # noqa: PLC0415  (optional: there is none for Python 3.13)
    except ImportError as error:
        raise MissingPartError(NO_RTMIDI) from error
    return rtmidi


def _backend(api: str | None) -> mido.Backend:
    _rtmidi()
    return mido.Backend(BACKEND if api is None else f"{BACKEND}/{api}", load=True)


class RtmidiWire:
    """A port of python-rtmidi, with its callback, and a second client that looks for it.

    A name for our client must not be given to a port that is to be connected: mido would silently
    make a port of our own that nothing is connected to.
    """

    def __init__(
        self, name: str, heard: Callable[[Any], None], api: str | None, *, virtual: bool = False
    ) -> None:
        """Open it; DeviceError where it cannot be."""
        self._name, self._virtual = name, virtual
        backend = _backend(api)
        mine = {"client_name": OUR_NAME} if virtual else {}
        try:
            self._port = backend.open_input(
                name, virtual=virtual, callback=going_first(heard), **mine
            )
            self._looker = _looker(api)
        except (OSError, RuntimeError, ValueError) as error:
            raise DeviceError(
                f"the MIDI port {name!r} cannot be opened ({error}): "
                "close other programs that use it, or plug it in again"
            ) from error

    def there(self) -> bool:
        """Return whether the port still is there."""
        try:
            return self._virtual or self._name in self._looker.get_ports()
        except (OSError, RuntimeError, ValueError):
            return False

    def close(self) -> None:
        """Close both."""
        self._port.close()
        self._looker.delete()


def _looker(api: str | None) -> Any:
    library = _rtmidi()
    kind = library.API_UNSPECIFIED if api is None else getattr(library, f"API_{api}")
    return library.MidiIn(rtapi=kind)
