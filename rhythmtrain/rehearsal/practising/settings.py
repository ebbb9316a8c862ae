"""The numbers by which one practises: usual ones, or those in the user's settings file."""

from collections.abc import Mapping
from dataclasses import fields
from pathlib import Path
from typing import Any

from rhythmtrain.coach.settings import GROUNDS, MEANINGS, USUAL, Settings, settings_of
from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.lines import hanging
from rhythmtrain.storage.places import user_folder
from rhythmtrain.storage.settings import change_practice_numbers, practice_numbers
from rhythmtrain.storage.settings_file import FILE_NAME

HEAD = (
    'To change one, write it under "practice" in {file}, for instance {{"practice": {{"slow": 0.5, '
    '"order": "mix"}}}}. None of the three orders (gradual, alternating, mix) has been shown to be '
    "best."
)
NAMES = 22


def practice_settings(folder: Path | None = None) -> Settings:
    """Return the numbers to practise by.

    Raises:
        RequestError: the file names a number there is none of, or one out of range.
        FileError: the file is damaged.
    """
    try:
        return settings_of(practice_numbers(folder))
    except RequestError as error:
        raise RequestError(f"{(folder or user_folder()) / FILE_NAME}: {error}") from error


def set_numbers(wanted: Mapping[str, Any] | None, folder: Path | None = None) -> None:
    """Set the numbers ``wanted`` by their names, from now on; None makes all of them usual again.

    A number that is usual is not written down, so that it follows when what is usual improves.

    Raises:
        RequestError: a number there is none of, or one out of range: nothing is changed then.
        FileError: the file is damaged, or cannot be written.
    """

    def changed(before: dict[str, Any]) -> dict[str, Any]:
        if wanted is None:
            return {}
        numbers = {**before, **wanted}
        settings_of(numbers)
        return {name: value for name, value in numbers.items() if value != getattr(USUAL, name)}

    change_practice_numbers(changed, folder)


def told_numbers(folder: Path | None = None) -> Told:
    """Return every number, what stands behind it, and where it is set."""
    settings = practice_settings(folder)
    rows = [(each.name, getattr(settings, each.name)) for each in fields(settings)]
    lines = [
        hanging(f"{name} = {value}", f"{MEANINGS[name]} ({GROUNDS[name]})", indent=NAMES)
        for name, value in rows
    ]
    head = hanging("", HEAD.format(file=(folder or user_folder()) / FILE_NAME), indent=0)
    document = {
        name: {"value": value, "meaning": MEANINGS[name], "ground": GROUNDS[name]}
        for name, value in rows
    }
    return Told("\n".join([*lines, "", head]), {"numbers": document})
