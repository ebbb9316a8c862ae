"""What can be used on this machine to play and to listen, and why what cannot."""

import sys
from collections.abc import Callable
from typing import Any, TypeVar

from rhythmtrain.devices.midi_ports import midi_names
from rhythmtrain.devices.portaudio import SoundDevice, quiet, sound_devices
from rhythmtrain.errors import DeviceError, MissingPartError
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.devices_text import Listing, Usable, devices_text

_T = TypeVar("_T")

FAKES = (
    Usable("fake sound card", "plays and records without hardware", usual=True),
    Usable("fake keys", "an invented player", usual=True),
)


def list_devices(*, dry_run: bool = False) -> Told:
    """Return every loudspeaker, microphone and MIDI input, and whether keys can be heard."""
    listings = _fakes() if dry_run else (*_sound(), _midi(), _keys())
    document: dict[str, Any] = {
        each.what: {
            "usable": [
                {"name": one.name, "about": one.about, "usual": one.usual} for one in each.usable
            ],
            "reason": each.reason,
        }
        for each in listings
    }
    return Told(devices_text(listings), document)


def _fakes() -> tuple[Listing, ...]:
    sound, keys = FAKES
    return (
        Listing("loudspeakers", (sound,)),
        Listing("microphones", (sound,)),
        Listing("midi", (keys,)),
        Listing("keys", (keys,)),
    )


def _sound() -> tuple[Listing, ...]:
    found, reason = _asked(sound_devices)
    out = tuple(_usable(each, each.usual_out) for each in found if each.outputs)
    microphones = tuple(_usable(each, each.usual_in) for each in found if each.inputs)
    return (
        Listing("loudspeakers", out, reason or _none(out, "no loudspeaker is there")),
        Listing("microphones", microphones, reason or _none(microphones, "no microphone is there")),
    )


def _usable(device: SoundDevice, usual: bool) -> Usable:  # noqa: FBT001  (a value of the row)
    return Usable(device.name, f"{device.rate} samples a second", usual=usual)


def _midi() -> Listing:
    names, reason = _asked(midi_names)
    usable = tuple(Usable(name, usual=not place) for place, name in enumerate(names))
    return Listing("midi", usable, reason or _none(usable, "no MIDI input is there"))


def _keys() -> Listing:
    if sys.stdin.isatty():
        return Listing("keys", (Usable("space bar and other keys", usual=True),))
    return Listing("keys", (), "keys can only be heard in a terminal, and standard input is none")


def _asked(question: Callable[[], tuple[_T, ...]]) -> tuple[tuple[_T, ...], str]:
    """Return the answer, or nothing and the reason why there is none."""
    try:
        with quiet():
            return question(), ""
    except (DeviceError, MissingPartError) as error:
        return (), str(error)


def _none(usable: tuple[Usable, ...], reason: str) -> str:
    return "" if usable else f"{reason}: plug one in"
