"""Where things are kept: the supplied drills and spoken words, and the user's own folder.

``drills/`` and ``audio_samples/`` stand at the top of the repository.  In an installed wheel they
travel inside the package as ``data/drills`` and ``data/audio_samples``; in a checkout or an
editable install they lie beside the package, next to ``pyproject.toml``.  This module alone knows.
"""

import os
from importlib.resources import files
from pathlib import Path

from platformdirs import user_data_path

from rhythmtrain.errors import FileError

HOME_VARIABLE = "RHYTHMTRAIN_HOME"


def drills_folder() -> Path:
    """Return the folder of the supplied drills; FileError when the installation lacks it."""
    return supplied_folder("drills", _package())


def samples_folder() -> Path:
    """Return the folder of the spoken words; FileError when the installation lacks it."""
    return supplied_folder("audio_samples", _package())


def user_folder() -> Path:
    """Return the folder for history and settings, which may not exist yet.

    It is the platform's place for a program's data unless ``RHYTHMTRAIN_HOME`` names another.
    """
    moved = os.environ.get(HOME_VARIABLE, "").strip()
    if moved:
        return Path(moved).expanduser()
    return user_data_path("rhythmtrain", appauthor=False)


def supplied_folder(name: str, package: Path) -> Path:
    """Return where ``name`` lies for a package installed or checked out at ``package``.

    A folder beside the package counts only next to its own ``pyproject.toml``: beside an installed
    package lie other people's.
    """
    installed = package / "data" / name
    if installed.is_dir():
        return installed
    beside = package.parent / name
    if (package.parent / "pyproject.toml").is_file() and beside.is_dir():
        return beside
    raise FileError(
        f"the folder {name} that belongs to rhythmtrain is missing at {installed}: "
        "install rhythmtrain again with `pip install --force-reinstall rhythmtrain`"
    )


def _package() -> Path:
    return Path(str(files("rhythmtrain")))
