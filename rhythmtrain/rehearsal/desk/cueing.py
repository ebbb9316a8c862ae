"""What the accompanist plays before an entry, at the page: in words, and as a sound to hear over and over."""

import secrets
from dataclasses import replace
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.cueing.cue import CueWish, tell_cue
from rhythmtrain.rehearsal.cueing.known import notes_beside
from rhythmtrain.rehearsal.cueing.sound import has_recording
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.made_file import Fetched
from rhythmtrain.rehearsal.desk.page_words import at_the_page
from rhythmtrain.rehearsal.desk.shelf import OWN, passage_path, plain_stem
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.storage.settings import preferences

VOICES = ("top", "lower", "all")
MOST_REPEATS = 20
FILES = {"cue.mp3": "audio/mpeg", "cue.flac": "audio/flac", "cue.mid": "audio/midi"}
Document = dict[str, Any]


def cue_told(sitting: Sitting, asked: Asked) -> Document:
    """Return what is played before the entry in bar "bar" of the passage "passage".

    "bars_before" says how many bars are listened to, "voice" which line of the accompanist's notes.

    Raises:
        RequestError: no entry there, or nothing is known of what is played before it.
        DrillError, FileError: the passage or its recording does not read.
    """
    wish = _wish(sitting, asked)
    told = tell_cue(wish).worded(at_the_page)
    return {
        "text": told.text,
        "words": told.document["words"],
        "source": told.document["from"],
        "midi": not has_recording(wish.passage, wish.files),
        "said": list(told.warnings),
    }


def cue_sounded(sitting: Sitting, asked: Asked) -> Path:
    """Return where the sound of it lies: the bars before the entry, "speed" times as fast, over and over.

    Raises:
        RequestError: as for :func:`cue_told`, or a speed out of range.
        DrillError, FileError, TakeError: the passage or its recording does not read.
    """
    return _sounded(_wish(sitting, asked), sitting, asked, ".flac")


def cue_fetched(sitting: Sitting, asked: Asked) -> Fetched:
    """Return the sound of it to be taken away: "what" is cue.mp3, cue.flac or cue.mid.

    Raises:
        RequestError, DrillError, FileError, TakeError: as for :func:`cue_sounded`.
    """
    what = asked.text("what")
    ending = Path(what).suffix
    if what not in FILES:
        raise RequestError(f"there is no {what[:40]!r} to take: choose from {', '.join(FILES)}")
    wish = _wish(sitting, asked)
    path = _sounded(wish, sitting, asked, ending)
    title = plain_stem(find_passage(wish.passage).title)
    return Fetched(path, f"{title}-bar-{wish.entry}-{what}", FILES[what])


def _sounded(wish: CueWish, sitting: Sitting, asked: Asked, ending: str) -> Path:
    path = sitting.passing / f"{secrets.token_hex(8)}{ending}"
    repeats = min(max(asked.whole("repeats", wish.repeats), 1), MOST_REPEATS)
    tell_cue(replace(wish, output=path, speed=asked.number("speed", 1.0), repeats=repeats))
    return path


def _wish(sitting: Sitting, asked: Asked) -> CueWish:
    """Return which cue is asked for; notes that were brought are more than a cue line says."""
    path, name = passage_path(sitting, asked.text("passage")), asked.text("passage")
    voice = asked.text("voice", VOICES[0])
    if voice not in VOICES:
        raise RequestError(f"there is no line {voice[:40]!r}: choose {', '.join(VOICES)}")
    return CueWish(
        path,
        part=asked.maybe_text("part"),
        cue_part=asked.maybe_text("cue_part"),
        entry=asked.whole("bar"),
        bars_before=asked.whole("bars_before", 2),
        notes=notes_beside(path) if name.startswith(f"{OWN}:") else None,
        voice=voice,
        british=preferences().british,
    )
