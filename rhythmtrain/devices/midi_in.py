"""Pads and keyboards as taps, through mido.

python-rtmidi calls back in a thread of its own, and the stamp is taken there (the library's own
``time`` is empty).  A note-on with velocity 0 is a release, and what is let go while the pedal is down
(controller 64 from 64 on) sounds until the pedal comes up (MIDI 1.0): that is when it is told, else a
pianist who holds notes with the foot cut them all short.  Where there is no MIDI system, mido's TCP ports carry the same messages: ``midi_over_tcp`` listens on one.

A MIDI system tells nobody that a cable was pulled.  So the name of the port is looked for twice a
second; when it is gone the source ends.  A JACK server that was killed still shows its last list of
ports; asking it anew would hold up stamps for 23 ms (measured), so that is left to the sound, which
ends with the server.
"""

import threading
import time
from collections import deque
from collections.abc import Callable, Iterable
from typing import Any, Protocol, Self

from rhythmtrain.devices.midi_ports import RtmidiWire, midi_ports
from rhythmtrain.devices.midi_socket import SocketWire
from rhythmtrain.devices.ports import Ended, How, Tap
from rhythmtrain.errors import DeviceError
from rhythmtrain.remedies import remedy

STAMP_ERROR_S = 0.003
LOOK_FOR_PORT_S = 0.5
PEDAL, PEDAL_DOWN = 64, 64


class _Wire(Protocol):
    """An open way for messages: closed once, and asked now and then whether it still is there."""

    def close(self) -> None: ...

    def there(self) -> bool: ...


Opened = Callable[[Callable[[Any], None]], _Wire]


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
        self._pedal = False
        self._sounding_on: set[int] = set()

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

    def __exit__(self, *_: object) -> None:
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
        if message.type == "control_change" and message.control == PEDAL:
            self._pedal = message.value >= PEDAL_DOWN
            if not self._pedal:
                self._let_go(time_s, sorted(self._sounding_on))
        elif message.type == "note_on" and message.velocity > 0:
            self._sounding_on.discard(message.note)
            self._taps.append(Tap(time_s, str(message.note), message.velocity, released=False))
            self._come.set()
        elif message.type in {"note_on", "note_off"} and self._pedal:
            self._sounding_on.add(message.note)
        elif message.type in {"note_on", "note_off"}:
            self._let_go(time_s, [message.note])

    def _let_go(self, time_s: float, notes: Iterable[int]) -> None:
        """Tell that ``notes`` end."""
        for note in notes:
            self._sounding_on.discard(note)
            self._taps.append(Tap(time_s, str(note), None, released=True))
            self._come.set()


def open_midi(port: str | None = None, *, api: str | None = None) -> MidiTaps:
    """Return the MIDI input whose name holds ``port``, the first one where it is None.

    Raises:
        MissingPartError: python-rtmidi is not installed.
        DeviceError: no such port.
    """
    ports = midi_ports(api)
    fitting = [each for each in ports if port is None or port.lower() in each.name.lower()]
    if not fitting:
        wanted = "no MIDI input is there" if port is None else f"no MIDI input is called {port!r}"
        known = f"there are: {', '.join(each.name for each in ports)}" if ports else "plug one in"
        raise DeviceError(f"{wanted}: {known}, or {remedy('tap-with', 'keys')}")
    found = fitting[0]
    return MidiTaps(found.name, lambda heard: RtmidiWire(found.name, heard, found.api))


def midi_of_our_own(name: str, *, api: str | None = None) -> MidiTaps:
    """Return an input of our own called ``name``, to which other programs can connect."""
    return MidiTaps(name, lambda heard: RtmidiWire(name, heard, api, virtual=True))


def midi_over_tcp(host: str = "127.0.0.1", port: int = 0) -> MidiTaps:
    """Return a source that listens for mido's messages at ``host`` and ``port``."""
    return MidiTaps(f"{host}:{port}", lambda heard: SocketWire(host, port, heard))
