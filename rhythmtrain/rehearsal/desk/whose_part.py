"""Whose part of a score is practised at the page: kept as a drill that names the score and the part.

So the choice is made once, and holds wherever the passage is practised, heard or handed out.
"""

import json
import re
import secrets
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.shelf import OWN, called_plainly, keep_drill, passage_path
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.passages.passages import whole_passage
from rhythmtrain.storage.drills import SUFFIX, load_drill
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.storage.scores import is_score

# The lines of a drill that name parts, and the one they stand under.
PARTS = re.compile(r"^(?:part|cue_part)\s*=.*\n", re.MULTILINE)
SCORE = re.compile(r"^score\s*=.*\n", re.MULTILINE)
Document = dict[str, Any]


def is_scored(path: str) -> bool:
    """Return whether the passage at ``path`` comes from a score, which may have several parts."""
    return is_score(path) or load_drill(path).score is not None


def part_chosen(sitting: Sitting, asked: Asked) -> Document:
    """Practise "part" of the score of the passage "passage", with "cue_part" as the accompanist's.

    Both are names or numbers; what is not said is chosen by itself.  The passage is one's own: a
    score becomes a drill that names it, and such a drill is changed.

    Raises:
        RequestError: it comes from no score of one's own, or the score has no such part.
        DrillError, FileError: it does not read so.
    """
    name = asked.text("passage")
    path = Path(passage_path(sitting, name))
    if not name.startswith(f"{OWN}:") or not is_scored(str(path)):
        raise RequestError("this passage comes from no score of yours: it has one part")
    before = SCORE.search(text := _text(path))
    if before is None:
        raise RequestError("this drill does not name its score on a line of its own: change it")
    parts = {key: asked.maybe_text(key) for key in ("part", "cue_part")}
    lines = "".join(f"{key} = {_quoted(part)}\n" for key, part in parts.items() if part)
    text = PARTS.sub("", text)
    text = SCORE.sub(lambda found: found[0] + lines, text, count=1)
    _check_reads(sitting, text)
    return keep_drill(sitting, text, None if is_score(path.name) else name)


def _text(path: Path) -> str:
    if is_score(path.name):
        title = called_plainly(path, whole_passage(str(path)).title)
        return f"title = {_quoted(title)}\nscore = {_quoted(path.name)}\n"
    text = path.read_text("utf-8-sig").replace("\r\n", "\n")
    return text if text.endswith("\n") else f"{text}\n"


def _check_reads(sitting: Sitting, text: str) -> None:
    """Read the passage as it would be, beside its score, out of sight."""
    trial = sitting.folders.passages / f".{secrets.token_hex(6)}{SUFFIX}"
    write_bytes_safely(trial, text.encode("utf-8"))
    try:
        whole_passage(str(trial))
    finally:
        trial.unlink()


def _quoted(text: str) -> str:
    return json.dumps(text, ensure_ascii=False)
