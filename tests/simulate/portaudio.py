"""The names of ``sounddevice`` that the driver uses, without a sound system: a test turns by hand."""

from collections.abc import Callable
from types import ModuleType, SimpleNamespace
from typing import Any

import numpy as np

RATE, BLOCK = 48_000, 256
CALM = SimpleNamespace(output_underflow=False, input_overflow=False)
FINE = type("Fine", (), {"__bool__": lambda _: False, **vars(CALM)})()


class PortAudioError(Exception):
    """What the library raises."""


class CallbackStop(Exception):  # noqa: N818  (the library's name)
    """What a callback raises at its end."""


class HandStream:
    """A stream that turns when it is told to."""

    def __init__(self, **settings: Any) -> None:
        """Keep the settings it was opened with."""
        self.settings = settings
        self.records = isinstance(settings["device"], tuple)
        self.latency = (0.01, 0.02) if self.records else 0.02
        self.active = False
        self.closed = False
        self.played: list[Any] = []

    def start(self) -> None:
        """Begin."""
        self.active = True

    def close(self) -> None:
        """End."""
        self.active, self.closed = False, True

    def turn(self, status: Any = FINE, *, frames: int = BLOCK) -> None:
        """Call back once, as the driver would."""
        channels = self.settings["channels"]
        out = np.full((frames, channels[1] if self.records else channels), 9.0, np.float32)
        heard = (np.full((frames, 1), 0.25, np.float32),) if self.records else ()
        try:
            self.settings["callback"](*heard, out, frames, None, status)
        except CallbackStop:
            self.active = False
            self.settings["finished_callback"]()
        self.played.append(out)


class HandAudio(ModuleType):
    """The library: two devices, one of them without a microphone."""

    PortAudioError = PortAudioError
    CallbackStop = CallbackStop

    def __init__(self, refuses: str = "", *, silent: bool = False) -> None:
        """``refuses`` is what opening a stream fails with, ``silent`` a system without answer."""
        super().__init__("sounddevice")
        self.refuses, self.silent = refuses, silent
        self.streams: list[HandStream] = []
        self.default = SimpleNamespace(device=(1, 1))

    def query_devices(self) -> list[dict[str, Any]]:
        """Return what is there."""
        if self.silent:
            raise PortAudioError("Error querying device [PaErrorCode -9999]", -9999)
        names = (("Desk card", 2, 0, 44_100.0), ("Headset", 1, 1, 48_000.0))
        keys = ("name", "max_output_channels", "max_input_channels", "default_samplerate")
        return [dict(zip(keys, row, strict=True), hostapi=0) for row in names]

    def query_hostapis(self) -> list[dict[str, str]]:
        """Return the one sound system."""
        return [{"name": "ALSA"}]

    def _opened(self, **settings: Any) -> HandStream:
        if self.refuses:
            raise PortAudioError(f"Error opening Stream: {self.refuses} [PaErrorCode -9985]", -9985)
        self.streams.append(HandStream(**settings))
        return self.streams[-1]

    @property
    def Stream(self) -> Callable[..., HandStream]:  # noqa: N802  (the library's name)
        """Return what opens a stream of both ways."""
        return self._opened

    @property
    def OutputStream(self) -> Callable[..., HandStream]:  # noqa: N802  (the library's name)
        """Return what opens a stream that plays."""
        return self._opened
