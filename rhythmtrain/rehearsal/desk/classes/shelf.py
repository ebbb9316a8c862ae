"""The classes that a teacher keeps at the page: made, found, taken away.

A class is a folder in the user's own, under a name made here, with what it is called and how it was
last heard (``class.json``) beside its recordings, its pages and the teacher's lines.
"""

import json
import secrets
import shutil
import unicodedata
from contextlib import AbstractContextManager
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.shelf import plain_stem
from rhythmtrain.storage.alone import Hold, alone_in, held
from rhythmtrain.storage.class_folder import spelt
from rhythmtrain.storage.folders import made_folder
from rhythmtrain.storage.safely import told_plainly, write_bytes_safely

ABOUT, SOUNDS = "class.json", "recordings"
MOST_CLASSES = 500
LONGEST_NAME = 120
Document = dict[str, Any]


class Classes:
    """The folder with all classes."""

    def __init__(self, top: Path) -> None:
        """Keep classes in ``top``, made where it is missing; what was half taken away goes."""
        self.top = made_folder(top)
        for path in self.top.glob(".gone-*"):
            shutil.rmtree(path, ignore_errors=True)

    def alone(self) -> AbstractContextManager[None]:
        """Be the only one who changes a class meanwhile, among pages and programs."""
        return alone_in(self.top)

    def all(self) -> list[Path]:
        """Return the folder of every class, the newest first."""
        found = [path for path in self.top.iterdir() if (path / ABOUT).is_file()]
        kept = [path for path in found if not path.name.startswith(".")]
        return sorted(kept, key=lambda path: (about(path).get("made", ""), path.name), reverse=True)

    def folder(self, name: str) -> Path:
        """Return the folder of the class called ``name``; RequestError where there is none."""
        for path in self.top.iterdir():
            if path.name == name and name[0] != "." and (path / ABOUT).is_file():
                return path
        raise RequestError(f"there is no class {name[:80]!r} here any more: choose another")


def about(folder: Path) -> Document:
    """Return what is known of a class: "title", "made", "asked" (how it was last heard)."""
    told = read_document(folder / ABOUT)
    return {"title": folder.name, "made": "", "asked": {}} | told


def class_made(classes: Classes, asked: Asked) -> Document:
    """Make a class that is called "title", with nobody in it yet, and return its name.

    Raises:
        RequestError: a title that is too long, or too many classes.
        FileError: it cannot be written.
    """
    title = shown(asked.text("title", "")) or "Class"
    if len(title) > LONGEST_NAME:
        raise RequestError(
            f"a class has a name of at most {LONGEST_NAME} letters: give a shorter one"
        )
    with classes.alone():
        if len(classes.all()) >= MOST_CLASSES:
            raise RequestError(f"there are {MOST_CLASSES} classes here: take old ones away first")
        folder = classes.top / f"{plain_stem(title)}-{secrets.token_hex(4)}"
        made_folder(folder / SOUNDS)
        keep_about(folder, {"title": title, "made": datetime.now(UTC).isoformat(), "asked": {}})
    return {"class": folder.name, "title": title}


def class_gone(classes: Classes, folder: Path) -> Document:
    """Take a class away for good, with its recordings and pages; nobody changes it meanwhile."""
    with told_plainly(folder):
        gone = folder.rename(classes.top / f".gone-{secrets.token_hex(8)}")
    shutil.rmtree(gone, ignore_errors=True)
    return {"gone": folder.name}


def to_hear(folder: Path) -> Hold | None:
    """Return a hold on what is in a class, for as long as it is heard; None while another hears it."""
    return held(folder / SOUNDS)


def shown(text: str) -> str:
    """Return a name as it can be shown: spelt alike on all systems, no signs that move a line."""
    plain = unicodedata.normalize("NFC", spelt(text))
    return "".join("?" if unicodedata.category(sign) == "Cc" else sign for sign in plain).strip()


def read_document(path: Path) -> Document:
    """Return the JSON document at ``path``, an empty one where there is none or it is damaged."""
    try:
        told = json.loads(path.read_bytes())
    except (OSError, ValueError, RecursionError):
        return {}
    return told if isinstance(told, dict) else {}


def keep_about(folder: Path, told: Document) -> None:
    """Keep what is known of a class."""
    text = json.dumps(told, ensure_ascii=False, allow_nan=False)
    write_bytes_safely(folder / ABOUT, text.encode("utf-8"))
