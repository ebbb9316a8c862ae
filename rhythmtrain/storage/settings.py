"""What is kept of this machine: the sound delays that were measured, by device, rate and driver.

One JSON file in the user's folder, written whole.  A file that cannot be read is set aside under a
name of its own and said so; what other versions wrote into it stays.
"""

import json
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rhythmtrain.errors import FileError
from rhythmtrain.storage.places import user_folder
from rhythmtrain.storage.safely import told_plainly, write_bytes_safely

FILE_NAME = "settings.json"
DELAYS = "sound_delays"


@dataclass(frozen=True, slots=True)
class DelayKey:
    """What a sound delay belongs to: ``driver`` is how taps came in (keys, midi, mic)."""

    device: str
    rate: int
    driver: str

    @property
    def words(self) -> str:
        """Return the key as the file has it."""
        return f"{self.device} | {self.rate} | {self.driver}"


@dataclass(frozen=True, slots=True)
class KeptDelay:
    """A sound delay in seconds, how far it may be off, and how it was measured."""

    delay_s: float
    error_s: float
    how: str


def kept_sound_delay(key: DelayKey, folder: Path | None = None) -> KeptDelay | None:
    """Return the delay kept under ``key``, or None.

    Raises:
        FileError: the file is damaged; it is set aside, and the next call begins anew.
    """
    delays = _read(_file(folder)).get(DELAYS)
    entry = delays.get(key.words) if isinstance(delays, dict) else None
    if not isinstance(entry, dict):
        return None
    try:
        return KeptDelay(float(entry["delay_s"]), float(entry["error_s"]), str(entry["how"]))
    except (KeyError, TypeError, ValueError):
        return None


def keep_sound_delay(key: DelayKey, kept: KeptDelay, folder: Path | None = None) -> None:
    """Keep ``kept`` under ``key`` in place of what was there.

    Raises:
        FileError: the folder cannot be written to, or the file is damaged.
    """
    file = _file(folder)
    with told_plainly(file):
        file.parent.mkdir(parents=True, exist_ok=True)
    settings = _read(file)
    delays = settings.get(DELAYS)
    delays = dict(delays) if isinstance(delays, dict) else {}
    delays[key.words] = {"delay_s": kept.delay_s, "error_s": kept.error_s, "how": kept.how}
    text = json.dumps({**settings, DELAYS: delays}, ensure_ascii=False, allow_nan=False, indent=1)
    write_bytes_safely(file, text.encode("utf-8"))


def _file(folder: Path | None) -> Path:
    return (folder or user_folder()) / FILE_NAME


def _read(file: Path) -> dict[str, Any]:
    with told_plainly(file):
        if not file.exists():
            return {}
        raw = file.read_bytes()
    try:
        settings = json.loads(raw)
    except ValueError as error:
        aside = _set_aside(file)
        raise FileError(
            f"{file} was damaged and is now {aside.name}: settings begin anew, measure the sound "
            "delay again"
        ) from error
    return settings if isinstance(settings, dict) else {}


def _set_aside(file: Path) -> Path:
    number = 1
    while (aside := file.with_name(f"settings-damaged-{number}.json")).exists():
        number += 1
    with told_plainly(file):
        file.rename(aside)
    return aside
