"""The one door to PortAudio: loading it, asking what is there, and its errors in our words.

The library looks for devices once, when it is loaded, and the sound systems below it write
warnings straight to the terminal while they look; these are kept from the screen.  A JACK server
that does not run is not started.  Which rate and how many channels a device takes is asked here;
playing is in ``sound_duplex``.
"""

import atexit
import os
import sys
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from types import ModuleType
from typing import Any

from rhythmtrain.errors import DeviceError, MissingPartError
from rhythmtrain.remedies import remedy

NO_SOUNDDEVICE = "sounddevice is missing: install it with `pip install sounddevice`"
NO_PORTAUDIO = (
    "PortAudio is missing: install libportaudio2 (`sudo apt install libportaudio2`, or the package "
    "of that name on your system)"
)
STDERR = 2
JACK = "JACK"
CLOSE_S = 3.0
LEFT: list[Any] = []  # streams that could not be closed: what the driver may call must live on


@dataclass(frozen=True, slots=True)
class SoundDevice:
    """A sound device as PortAudio tells of it.

    ``system`` is the sound system below ("ALSA", "JACK Audio Connection Kit"); ``usual_out`` and
    ``usual_in`` mark the default.
    """

    number: int
    name: str
    outputs: int
    inputs: int
    rate: int
    system: str
    usual_out: bool = False
    usual_in: bool = False


def load() -> ModuleType:
    """Return the module ``sounddevice``.

    Raises:
        MissingPartError: it, or PortAudio below it, is not installed.
    """
    os.environ.setdefault("JACK_NO_START_SERVER", "1")
    try:
        with quiet():
            import sounddevice  # noqa: PLC0415  (starts the sound system: only when asked for)
    except ImportError as error:
        raise MissingPartError(NO_SOUNDDEVICE) from error
    except OSError as error:
        raise MissingPartError(NO_PORTAUDIO) from error
    module: ModuleType = sounddevice
    return module


def sound_devices() -> tuple[SoundDevice, ...]:
    """Return the devices that were there when PortAudio was loaded.

    Raises:
        MissingPartError: PortAudio is not installed.
        DeviceError: the sound system does not answer.
    """
    library = load()
    try:
        usual_in, usual_out = library.default.device
        rows = library.query_devices()
        systems = [str(each["name"]) for each in library.query_hostapis()]
    except library.PortAudioError as error:
        raise DeviceError(
            f"the sound system does not answer ({said(error)}): start it again"
        ) from error
    return tuple(
        SoundDevice(
            number,
            str(row["name"]),
            int(row["max_output_channels"]),
            int(row["max_input_channels"]),
            round(row["default_samplerate"]),
            systems[row["hostapi"]],
            usual_out=number == usual_out,
            usual_in=number == usual_in,
        )
        for number, row in enumerate(rows)
    )


def chosen(devices: tuple[SoundDevice, ...], wanted: str | None, *, record: bool) -> SoundDevice:
    """Return the device whose number is ``wanted`` or whose name holds it, or the usual one.

    Raises:
        DeviceError: none, or none that can play (or record).
    """
    what = "microphone" if record else "loudspeaker"
    able = [each for each in devices if (each.inputs if record else each.outputs)]
    usual = [each for each in able if (each.usual_in if record else each.usual_out)]
    if not able:
        raise DeviceError(f"no {what} is there: plug one in, or {remedy('look-at-devices')}")
    if wanted is None:
        return (usual or able)[0]
    named = [each for each in able if wanted in {str(each.number), each.name}]
    named += [each for each in able if wanted.lower() in each.name.lower()]
    if not named:
        names = ", ".join(each.name for each in able)
        raise DeviceError(f"no {what} is called {wanted!r}: there are {names}")
    return named[0]


def close(stream: Any, device: SoundDevice, *, gone: bool) -> None:
    """Close ``stream`` of ``device``; one that does not answer is left to the end of the process.

    A JACK client whose server is gone hangs when it is closed (measured with the server killed, see
    tests/real), and so would the library when the program ends: then neither is tried.
    """
    if not (gone and device.system.startswith(JACK)):
        closer = threading.Thread(target=stream.close, name="close", daemon=True)
        with quiet():
            closer.start()
            closer.join(CLOSE_S)
        if not closer.is_alive():
            return
    LEFT.append(stream)
    atexit.unregister(load()._exit_handler)  # noqa: SLF001  (the library has no other way)


def said(error: Exception) -> str:
    """Return PortAudio's own words without its numbers."""
    text = str(error.args[0]) if error.args else str(error)
    return text.split(" [PaErrorCode")[0].removeprefix("Error opening ").strip()


def refusal(error: Exception, name: str, rate: int, device: SoundDevice) -> str:
    """Return what to say of a ``device`` that cannot be opened."""
    return (
        f"the sound device {name!r} cannot be opened at {rate} samples a second ({said(error)}): "
        f"close other programs that use it, or try its own rate, {device.rate}"
    )


@contextmanager
def quiet() -> Iterator[None]:
    """Keep what C libraries write to the terminal from the screen."""
    sys.stderr.flush()
    kept = os.dup(STDERR)
    nowhere = os.open(os.devnull, os.O_WRONLY)
    try:
        os.dup2(nowhere, STDERR)
        yield
    finally:
        os.dup2(kept, STDERR)
        os.close(kept)
        os.close(nowhere)
