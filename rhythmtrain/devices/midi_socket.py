"""MIDI messages over TCP, where there is no MIDI system: mido's sockets, read in a thread."""

import threading
from collections.abc import Callable
from typing import Any

import mido.sockets

from rhythmtrain.errors import DeviceError

LOOK_AT_SOCKET_S = 0.0005


class SocketWire:
    """A TCP port of mido's that takes one sender after another, read in a thread."""

    def __init__(self, host: str, port: int, heard: Callable[[Any], None]) -> None:
        """Listen; DeviceError where that place is taken."""
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
        """Return whether it still listens."""
        return self._reader.is_alive()

    def close(self) -> None:
        """Stop listening."""
        self._leaving.set()
        self._reader.join()
        self._server.close()
