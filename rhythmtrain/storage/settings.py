"""What is kept of this machine and this person: measured sound delays, language, note names, numbers.

One JSON file in the user's folder (see ``settings_file``)::

    {"language": "en", "british_note_names": false, "own_voice": true, "practice": {"slow": 0.6},
     "sound_delays": {"device | rate | driver":
         {"delay_s": 0.031, "error_s": 0.002, "how": "tapped", "measured_at": "2026-03-01T19:30"}}}

A file that cannot be read is set aside under a name of its own and said so; what other versions
wrote into it stays.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.storage.settings_file import change_settings, read_settings, settings_file

DELAYS = "sound_delays"
LANGUAGE = "language"
BRITISH = "british_note_names"
OWN_VOICE = "own_voice"
PRACTICE = "practice"


@dataclass(frozen=True, slots=True)
class DelayKey:
    """What a sound delay belongs to: ``driver`` is the sound system, and what was heard from."""

    device: str
    rate: int
    driver: str

    @property
    def words(self) -> str:
        """Return the key as the file has it."""
        return f"{self.device} | {self.rate} | {self.driver}"


@dataclass(frozen=True, slots=True)
class KeptDelay:
    """A sound delay in seconds, how far it may be off, how and when it was measured.

    ``measured_at`` is a time as text ("2026-03-01T19:30:00+01:00"), empty where it is not known.

    Raises:
        RequestError: a delay that is no number of seconds.
    """

    delay_s: float
    error_s: float
    how: str
    measured_at: str = ""

    def __post_init__(self) -> None:
        """Refuse what could not be taken off a clap."""
        if not (math.isfinite(self.delay_s) and math.isfinite(self.error_s) and self.error_s >= 0):
            raise RequestError(
                f"a sound delay is a number of seconds, with an error of 0 or more, "
                f"got {self.delay_s} and {self.error_s}"
            )


@dataclass(frozen=True, slots=True)
class Preferences:
    """What a person set once: the count's language, crotchets or quarter notes, one's own voice."""

    language: str = "en"
    british: bool = False
    own_voice: bool = True


def preferences(folder: Path | None = None) -> Preferences:
    """Return what was set, or what is usual where nothing was.

    Raises:
        FileError: the file is damaged; it is set aside, and the next call begins anew.
    """
    settings = read_settings(folder)
    language, british, own_voice = map(settings.get, (LANGUAGE, BRITISH, OWN_VOICE))
    usual = Preferences()
    return Preferences(
        language if isinstance(language, str) and language else usual.language,
        british if isinstance(british, bool) else usual.british,
        own_voice if isinstance(own_voice, bool) else usual.own_voice,
    )


def keep_preferences(
    wanted: Preferences, folder: Path | None = None, *, before: Preferences | None = None
) -> None:
    """Set what a person prefers, from now on; with ``before``, only what is other than there.

    So what another program set since ``before`` was read stays set.

    Raises:
        FileError: the folder cannot be written to, or the file is damaged.
    """
    said = {LANGUAGE: wanted.language, BRITISH: wanted.british, OWN_VOICE: wanted.own_voice}
    known = before and {
        LANGUAGE: before.language, BRITISH: before.british, OWN_VOICE: before.own_voice,
    }  # fmt: skip
    new = {key: value for key, value in said.items() if not known or known[key] != value}
    change_settings(lambda _: new, folder)


def practice_numbers(folder: Path | None = None) -> dict[str, Any]:
    """Return the numbers that a person set for practising, under "practice" in the file.

    Raises:
        FileError: the file is damaged; it is set aside, and the next call begins anew.
        RequestError: what stands there is no table of numbers.
    """
    numbers = read_settings(folder).get(PRACTICE, {})
    if not isinstance(numbers, dict):
        raise RequestError(
            f'"{PRACTICE}" in {settings_file(folder)} must be a table such as {{"slow": 0.6}}'
        )
    return numbers


def change_practice_numbers(
    change: Callable[[dict[str, Any]], dict[str, Any]], folder: Path | None = None
) -> None:
    """Put what ``change`` makes of the practice numbers in their place; what it raises changes nothing.

    Raises:
        FileError: the folder cannot be written to, or the file is damaged.
    """

    def changed(settings: dict[str, Any]) -> dict[str, Any]:
        numbers = settings.get(PRACTICE)
        return {PRACTICE: change(dict(numbers) if isinstance(numbers, dict) else {})}

    change_settings(changed, folder)


def kept_sound_delay(key: DelayKey, folder: Path | None = None) -> KeptDelay | None:
    """Return the delay kept under ``key``, or None.

    Raises:
        FileError: the file is damaged; it is set aside, and the next call begins anew.
    """
    delays = read_settings(folder).get(DELAYS)
    entry = delays.get(key.words) if isinstance(delays, dict) else None
    if not isinstance(entry, dict):
        return None
    try:
        delay_s, error_s = float(entry["delay_s"]), float(entry["error_s"])
        return KeptDelay(delay_s, error_s, str(entry["how"]), str(entry.get("measured_at", "")))
    except (KeyError, TypeError, ValueError, OverflowError, RequestError):
        return None


def keep_sound_delay(key: DelayKey, kept: KeptDelay, folder: Path | None = None) -> None:
    """Keep ``kept`` under ``key`` in place of what was there.

    Raises:
        FileError: the folder cannot be written to, or the file is damaged.
    """
    measured = {
        "delay_s": kept.delay_s,
        "error_s": kept.error_s,
        "how": kept.how,
        "measured_at": kept.measured_at,
    }

    def add(settings: dict[str, Any]) -> dict[str, Any]:
        delays = settings.get(DELAYS)
        before = delays if isinstance(delays, dict) else {}
        return {DELAYS: {**before, key.words: measured}}

    change_settings(add, folder)
