"""Over the days, at the page: what to do today, how it goes, the takes that were kept."""

import secrets
from pathlib import Path
from typing import Any

from rhythmtrain.errors import FileError
from rhythmtrain.rehearsal.days.files import export_takes, import_takes
from rhythmtrain.rehearsal.days.history import delete_take, judge_again, list_takes, show_take
from rhythmtrain.rehearsal.days.progress import ProgressWish, tell_progress
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.page_words import at_the_page
from rhythmtrain.rehearsal.desk.shelf import shelf_name
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.storage.safely import write_bytes_safely

MOST_TAKES = 200
Document = dict[str, Any]


def days_told(sitting: Sitting) -> Document:
    """Return what to do today, with what the shelf calls each passage, and every passage's state."""
    told = tell_progress(ProgressWish())
    for rows in ("today", "later", "passages"):
        for each in told.document[rows]:
            each["on_shelf"] = shelf_name(sitting, each["passage"])
    return told.document | {"said": list(told.warnings)}


def days_drawn(sitting: Sitting) -> str:
    """Return how every passage goes over the days as a whole page."""
    path = sitting.passing / f"{secrets.token_hex(8)}.html"
    tell_progress(ProgressWish(report=path), words=at_the_page)
    return path.read_text("utf-8")


def takes_listed(sitting: Sitting) -> Document:
    """Return the takes that were kept, the newest first."""
    told = list_takes(limit=MOST_TAKES).document
    for each in told["takes"]:
        each["on_shelf"] = shelf_name(sitting, str(each.get("passage", "")))
    return told


def take_shown(asked: Asked) -> Document:
    """Return one kept take as it was told when it was heard."""
    told = show_take(asked.whole("number"))
    return _words(told)


def take_deleted(asked: Asked) -> Document:
    """Delete one kept take for good."""
    return {"text": delete_take(asked.whole("number")).text}


def take_again(asked: Asked) -> Document:
    """Judge one kept take by today's rules, keep that, and return what changed."""
    told = judge_again(asked.whole("number"))
    return _words(told)


def takes_again() -> Document:
    """Judge every kept take by today's rules, keep that, and return what changed."""
    return _words(judge_again(None, every=True))


def takes_saved(sitting: Sitting) -> Path:
    """Return where all takes lie as one file, for keeping elsewhere."""
    path = sitting.passing / f"{secrets.token_hex(8)}.jsonl"
    export_takes(path)
    return path


def takes_brought_back(sitting: Sitting, asked: Asked) -> Document:
    """Take in the takes whose file came; those that are there already stay as they are.

    Raises:
        FileError: there are no takes in it.
    """
    path = sitting.passing / f"{secrets.token_hex(8)}.jsonl"
    write_bytes_safely(path, asked.data)
    try:
        told = import_takes(path)
    finally:
        path.unlink(missing_ok=True)
    if told.failure:
        raise FileError(told.failure.replace(path.name, asked.text("file")[:80]))
    return _words(told)


def _words(told: Told) -> Document:
    """Return what is told in words."""
    here = told.worded(at_the_page)
    return {"text": here.text.rstrip(), "said": list(here.warnings)}
