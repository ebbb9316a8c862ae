"""Pads and keyboards as taps, through mido.

python-rtmidi calls back in a thread of its own, and the stamp is taken there (the library's own
``time`` is empty).  A note-on with velocity 0 is a release (MIDI 1.0).  Where there is no MIDI
system, mido's TCP ports carry the same messages: ``midi_over_tcp`` listens on one.

A MIDI system tells nobody that a cable was pulled.  So the name of the port is looked for twice a
second; when it is gone the source ends.  A JACK server that was killed still shows its last list of
ports; asking it anew would hold up stamps for 23 ms (measured), so that is left to the sound, which
ends with the server.
"""

import threading
import time
from collections import deque
from collections.abc import Callable
from types import TracebackType
from typing import Any, Protocol, Self

import mido
import mido.sockets

from rhythmtrain.devices.ports import Ended, How, Tap
from rhythmtrain.devices.waking import going_first
from rhythmtrain.errors import DeviceError, MissingPartError

STAMP_ERROR_S = 0.003
LOOK_FOR_PORT_S = 0.5
LOOK_AT_SOCKET_S = 0.0005
OUR_NAME = "rhythmtrain"
BACKEND = "mido.backends.rtmidi"
NO_RTMIDI = (
    "python-rtmidi is missing: install it with `pip install python-rtmidi` (there is none for "
    "Python 3.13 yet: use 3.11 or 3.12), or tap with --from keys"
)


class _Wire(Protocol):
    """An open way for messages: closed once, and asked now and then whether it still is there."""

    def close(self) -> None: ...

    def there(self) -> bool: ...


Opened = Callable[[Callable[[Any], None]], _Wire]


def midi_names(api: str | None = None) -> tuple[str, ...]:
    """Return the names of the MIDI inputs that are there now.

    ``api`` is a name of the library's ("UNIX_JACK", "LINUX_ALSA"), None for the usual one.

    Raises:
        MissingPartError: python-rtmidi is not installed.
        DeviceError: the machine's MIDI system does not answer.
    """
    backend = _backend(api)
    try:
        return tuple(dict.fromkeys(backend.get_input_names()))
    except (OSError, RuntimeError, ValueError) as error:
        why = str(error).split("::")[-1].partition(": ")[2].rstrip(".") or str(error)
        raise DeviceError(
            f"the MIDI system of this machine does not answer ({why}): on Linux load it with "
            "`sudo modprobe snd-seq`, or tap with --from keys"
        ) from error


class MidiTaps:
    """A source of taps from MIDI messages, opened by ``open_midi`` or ``midi_over_tcp``."""

    stamp_error_s = STAMP_ERROR_S

    def __init__(self, name: str, opened: Opened) -> None:
        """Take a name for people and how to open the wire."""
        self.name = name
        self._opened = opened
        self._wire: _Wire | None = None
        self._looked_s = 0.0
        self._taps: deque[Tap] = deque()
        self._come = threading.Event()
        self._ended: Ended | None = None

    @property
    def ended(self) -> Ended | None:
        """Return how the port ended, None while it works or has taps to give."""
        return None if self._taps else self._ended

    def stop(self) -> None:
        """Stop now, as STOPPED if nothing ended it before."""
        self._ended = self._ended or Ended(How.STOPPED)
        self._come.set()

    def poll(self, wait_s: float = 0.0) -> tuple[Tap, ...]:
        """Return the taps since the last time, waiting up to ``wait_s`` seconds for one."""
        self._come.wait(wait_s)
        if self._ended is None:
            self._come.clear()
            self._look()
        return tuple(self._taps.popleft() for _ in range(len(self._taps)))

    def __enter__(self) -> Self:
        """Open the port; DeviceError where it cannot be."""
        self._wire = self._opened(self._heard)
        self._looked_s = time.perf_counter()
        return self

    def __exit__(
        self,
        kind: type[BaseException] | None,
        error: BaseException | None,
        trace: TracebackType | None,
    ) -> None:
        """Close the port."""
        self.stop()
        if self._wire is not None:
            self._wire.close()
            self._wire = None

    def _look(self) -> None:
        """See now and then whether the port is still there."""
        if self._wire is not None and time.perf_counter() - self._looked_s >= LOOK_FOR_PORT_S:
            self._looked_s = time.perf_counter()
            if not self._wire.there():
                self._ended = Ended(How.WENT_AWAY, f"the MIDI port {self.name!r} went away")

    def _heard(self, message: Any) -> None:
        """Stamp a message; called in the driver's thread."""
        time_s = time.perf_counter()
        if message.type in {"note_on", "note_off"}:
            down = message.type == "note_on" and message.velocity > 0
            velocity = message.velocity if down else None
            self._taps.append(Tap(time_s, str(message.note), velocity, released=not down))
            self._come.set()


def open_midi(port: str | None = None, *, api: str | None = None) -> MidiTaps:
    """Return the MIDI input whose name holds ``port``, the first one where it is None.

    Raises:
        MissingPartError: python-rtmidi is not installed.
        DeviceError: no such port.
    """
    names = midi_names(api)
    fitting = [name for name in names if port is None or port.lower() in name.lower()]
    if not fitting:
        wanted = "no MIDI input is there" if port is None else f"no MIDI input is called {port!r}"
        known = f"there are: {', '.join(names)}" if names else "plug one in"
        raise DeviceError(f"{wanted}: {known}, or tap with --from keys")
    return MidiTaps(fitting[0], lambda heard: _RtmidiWire(fitting[0], heard, api))


def midi_of_our_own(name: str, *, api: str | None = None) -> MidiTaps:
    """Return an input of our own called ``name``, to which other programs can connect."""
    return MidiTaps(name, lambda heard: _RtmidiWire(name, heard, api, virtual=True))


def midi_over_tcp(host: str = "127.0.0.1", port: int = 0) -> MidiTaps:
    """Return a source that listens for mido's messages at ``host`` and ``port``."""
    return MidiTaps(f"{host}:{port}", lambda heard: _SocketWire(host, port, heard))


def _backend(api: str | None) -> mido.Backend:
    try:
        import rtmidi  # noqa: F401, PLC0415  (optional: there is none for Python 3.13)
    except ImportError as error:
        raise MissingPartError(NO_RTMIDI) from error
    return mido.Backend(BACKEND if api is None else f"{BACKEND}/{api}", load=True)


class _RtmidiWire:
    """A port of python-rtmidi, with its callback, and a second client that looks for it.

    A name for our client must not be given to a port that is to be connected: mido would silently
    make a port of our own that nothing is connected to.
    """

    def __init__(
        self, name: str, heard: Callable[[Any], None], api: str | None, *, virtual: bool = False
    ) -> None:
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
        try:
            return self._virtual or self._name in self._looker.get_ports()
        except (OSError, RuntimeError, ValueError):
            return False

    def close(self) -> None:
        self._port.close()
        self._looker.delete()


def _looker(api: str | None) -> Any:
    import rtmidi  # noqa: PLC0415  (optional: there is none for Python 3.13)

    kind = rtmidi.API_UNSPECIFIED if api is None else getattr(rtmidi, f"API_{api}")
    return rtmidi.MidiIn(rtapi=kind)


class _SocketWire:
    """A TCP port of mido's that takes one sender after another, read in a thread."""

    def __init__(self, host: str, port: int, heard: Callable[[Any], None]) -> None:
        try:
            self._server = mido.sockets.PortServer(host, port)
        except OSError as error:
            raise DeviceError(
                f"{host}:{port} cannot be listened to ({error.strerror}): choose another number"
            ) from error
        self._heard = heard
        self._leaving = threading.Event()
        self._reader = threading.Thread(target=self._read, name="midi over tcp", daemon=True)
        self._reader.start()

    def _read(self) -> None:
        """Look at every sender in turn (mido's own server waits for ever when it is polled)."""
        senders: list[Any] = []
        while not self._leaving.wait(LOOK_AT_SOCKET_S):
            new = self._server.accept(block=False)
            senders = [each for each in senders if not each.closed] + ([new] if new else [])
            for sender in senders:
                self._read_from(sender)
        for sender in senders:
            sender.close()

    def _read_from(self, sender: Any) -> None:
        try:
            for message in sender.iter_pending():
                self._heard(message)
        except OSError:  # it went away in the middle of a message: others may come
            sender.close()

    def there(self) -> bool:
        return self._reader.is_alive()

    def close(self) -> None:
        self._leaving.set()
        self._reader.join()
        self._server.close()
