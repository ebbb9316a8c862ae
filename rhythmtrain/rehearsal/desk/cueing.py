"""What the accompanist plays before an entry, at the page: in words, and as a sound to hear over and over."""

import secrets
from dataclasses import replace
from pathlib import Path
from typing import Any

from rhythmtrain.rehearsal.cueing.cue import CueWish, tell_cue
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.page_words import at_the_page
from rhythmtrain.rehearsal.desk.shelf import passage_path
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.storage.settings import preferences

Document = dict[str, Any]


def cue_told(sitting: Sitting, asked: Asked) -> Document:
    """Return what is played before the entry in bar "bar" of the passage "passage".

    Raises:
        RequestError: no entry there, or nothing is known of what is played before it.
        DrillError, FileError: the passage or its recording does not read.
    """
    told = tell_cue(_wish(sitting, asked)).worded(at_the_page)
    return {
        "text": told.text,
        "words": told.document["words"],
        "said": list(told.warnings),
    }


def cue_sounded(sitting: Sitting, asked: Asked) -> Path:
    """Return where the sound of it lies: the bars before the entry, "speed" times as fast, four times.

    Raises:
        RequestError: as for :func:`cue_told`, or a speed out of range.
        DrillError, FileError, TakeError: the passage or its recording does not read.
    """
    path = sitting.passing / f"{secrets.token_hex(8)}.flac"
    wish = _wish(sitting, asked)
    tell_cue(replace(wish, output=path, speed=asked.number("speed", 1.0)))
    return path


def _wish(sitting: Sitting, asked: Asked) -> CueWish:
    return CueWish(
        passage_path(sitting, asked.text("passage")),
        part=asked.maybe_text("part"),
        cue_part=asked.maybe_text("cue_part"),
        entry=asked.whole("bar"),
        british=preferences().british,
    )
