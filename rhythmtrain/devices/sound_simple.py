"""Playing through simpleaudio, for machines without PortAudio (Python 3.11 only).

This library can only be handed a whole track, says nothing of frames or time, and records nothing.
So the track is held as 16-bit samples (10 MB a minute), and the stamps are a guess: frame 0 when
the call that starts the sound returned, and from there at the nominal rate.  How late the sound
then comes is not known, and ``stamp_error_s`` says so; a measured sound delay takes out the part
that stays the same.  A library of 2019: it crashes on Python 3.12 and newer, and is not loaded
there.
"""

import sys
import time
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Self

import numpy as np

from rhythmtrain.devices.blocks import even_blocks
from rhythmtrain.devices.portaudio import quiet
from rhythmtrain.devices.ports import Block, Ended, How, Passed, Stamp
from rhythmtrain.errors import DeviceError, MissingPartError

STAMP_ERROR_S = 0.05
RATES = (8_000, 11_025, 16_000, 22_050, 32_000, 44_100, 48_000, 88_200, 96_000, 192_000)
BYTES_A_SAMPLE = 2
FULL_SCALE = 32_767
LAST_PYTHON = (3, 11)
LOOK_EVERY_S = 0.005
PAGE = 4096
AS_PLAYED_S = 0.2


@dataclass(frozen=True, slots=True)
class SimpleSound:
    """How the track is handed over: frames a second, channels, silence after it."""

    rate: int = 44_100
    channels: int = 2
    tail_s: float = 0.5


USUAL = SimpleSound()


class SimpleOutput:
    """A loudspeaker that plays ``blocks``, whole."""

    name = "the usual loudspeaker"
    system = "simpleaudio"
    stamp_error_s = STAMP_ERROR_S
    claimed_delay_s = 0.0

    def __init__(
        self, blocks: Iterable[Block], sound: SimpleSound = USUAL, *, library: Any = None
    ) -> None:
        """Make the whole track; ``library`` is the loaded simpleaudio, None to load it.

        Raises:
            MissingPartError: simpleaudio is not installed, or this Python is too new for it.
            DeviceError: a rate that it does not play.
        """
        self._library = _load() if library is None else library
        if sound.rate not in RATES:
            allowed = ", ".join(map(str, RATES))
            raise DeviceError(f"simpleaudio plays {allowed} samples a second, not {sound.rate}")
        tail = round(sound.tail_s * sound.rate)
        pages = even_blocks(blocks, PAGE, channels=sound.channels, tail=tail)
        self._samples = b"".join(map(_sixteen_bits, pages))
        self._frames = len(self._samples) // (BYTES_A_SAMPLE * sound.channels)
        self._channels = sound.channels
        self.rate = sound.rate
        self._playing: Any = None
        self._begun_s = 0.0
        self._ended: Ended | None = None

    @property
    def ended(self) -> Ended | None:
        """Return how the sound ended, None while it plays."""
        return self._ended

    def stop(self) -> None:
        """Stop now, as STOPPED if nothing ended it before."""
        self._ended = self._ended or Ended(How.STOPPED)
        if self._playing is not None:
            self._playing.stop()
            self._playing = None

    def __enter__(self) -> Self:
        """Start to play; DeviceError where the loudspeaker refuses."""
        try:
            with quiet():
                self._playing = self._library.play_buffer(
                    self._samples, self._channels, BYTES_A_SAMPLE, self.rate
                )
        except self._library._simpleaudio.SimpleaudioError as error:  # noqa: SLF001  (only there)
            raise DeviceError(
                f"the loudspeaker cannot be opened ({error}): plug one in, "
                "or close other programs that use it"
            ) from error
        self._begun_s = time.perf_counter()
        return self

    def __exit__(self, *_: object) -> None:
        """Stop."""
        self.stop()

    def poll(self, wait_s: float = 0.0) -> Passed:
        """Return where the sound should be by now, after ``wait_s`` seconds or at its end."""
        if self._ended is not None or self._playing is None:
            return Passed()
        until_s = time.perf_counter() + wait_s
        while self._playing.is_playing() and time.perf_counter() < until_s:
            time.sleep(min(LOOK_EVERY_S, max(until_s - time.perf_counter(), 0.0)))
        frame = int((time.perf_counter() - self._begun_s) * self.rate)
        if not self._playing.is_playing():
            whole = frame >= self._frames - AS_PLAYED_S * self.rate
            gone = Ended(How.WENT_AWAY, "the loudspeaker stopped before the track was over")
            self._ended = Ended(How.FINISHED) if whole else gone
        frame = min(frame, self._frames)
        return Passed((Stamp(frame, self._begun_s + frame / self.rate),))


def _load() -> Any:
    if sys.version_info[:2] > LAST_PYTHON:
        raise MissingPartError(
            "simpleaudio does not work on Python 3.12 and newer: "
            "install libportaudio2 for sounddevice, or use Python 3.11"
        )
    try:
        import simpleaudio  # noqa: PLC0415  (optional, and never loaded unless asked for)
    except ImportError as error:
        raise MissingPartError(
            "simpleaudio is missing: install it with `pip install 'rhythmtrain[simpleaudio]'`"
        ) from error
    return simpleaudio


def _sixteen_bits(page: Block) -> bytes:
    return np.asarray(np.clip(page, -1.0, 1.0) * FULL_SCALE, dtype="<i2").tobytes()
