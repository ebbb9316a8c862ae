"""The passages one can choose at the page: those supplied, and the person's own.

The page names a passage by what the shelf calls it ("supplied:10-off-beats",
"own:march-3f2a.toml"); only what stands on the shelf can be taken, so no name leads anywhere else.
Own passages are files in the person's folder, under names made here.
"""

import re
import secrets
import unicodedata
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.passages.passages import whole_passage
from rhythmtrain.score.drill.drill import read_drill
from rhythmtrain.score.drill.writer import write_drill
from rhythmtrain.storage.drills import SUFFIX, drill_path, load_drill, shipped_drills
from rhythmtrain.storage.folders import files_there
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.storage.scores import SCORE_ENDINGS, is_score
from rhythmtrain.storage.takes import MIDI_ENDINGS

SUPPLIED, OWN = "supplied", "own"
SCORES = (*sorted(SCORE_ENDINGS), *sorted(MIDI_ENDINGS))
# What can be brought to be practised.
BROUGHT = (*SCORES, SUFFIX)
LONGEST_STEM = 40
MOST_OWN = 2_000
# A section of a drill that names files beside it.
BESIDE = re.compile(r"\n\[(?:accompaniment|model)\][^\[]*")

Document = dict[str, Any]


def shelf(sitting: Sitting) -> Document:
    """Return every passage that can be chosen, own ones first, the newest on top."""
    supplied = [
        {"name": f"{SUPPLIED}:{each.name}", "title": each.title, "about": each.about}
        for each in shipped_drills()
    ]
    own = [
        {"name": f"{OWN}:{path.name}", "title": _title(path), "about": _about(path)}
        for path in _own_files(sitting)
    ]
    return {"own": own, "supplied": supplied}


def passage_path(sitting: Sitting, name: str) -> str:
    """Return what the passage called ``name`` on the shelf is called everywhere else.

    Raises:
        RequestError: nothing of that name stands there.
    """
    kind, _, rest = name.partition(":")
    if kind == SUPPLIED:
        for each in shipped_drills():
            if each.name == rest:
                return each.name
    if kind == OWN:
        for path in _own_files(sitting):
            if path.name == rest:
                return str(path)
    raise RequestError(f"there is no passage {name[:80]!r} here any more: choose another")


def shelf_name(sitting: Sitting, path: str) -> str | None:
    """Return what the shelf calls the passage that is called ``path`` elsewhere, None if it has none."""
    if Path(path).parent == sitting.folders.passages and Path(path).is_file():
        return f"{OWN}:{Path(path).name}"
    return f"{SUPPLIED}:{path}" if any(each.name == path for each in shipped_drills()) else None


def keep_written(sitting: Sitting, asked: Asked) -> Document:
    """Keep a drill that was written at the page, and return what the shelf calls it.

    "text" is the drill file.  "name" is the own passage that it replaces, if any.

    Raises:
        DrillError: it does not read; nothing is kept.
        FileError: it cannot be written.
    """
    return keep_drill(sitting, asked.text("text"), asked.maybe_text("name"))


def keep_drill(sitting: Sitting, text: str, before: str | None) -> Document:
    """Keep the drill ``text`` in place of one's own passage ``before``, or as a new one."""
    drill = read_drill(text, name="your passage")
    if before is not None and before.startswith(f"{OWN}:") and before.endswith(SUFFIX):
        path = Path(passage_path(sitting, before))
    else:
        path = _new(sitting, drill.title, SUFFIX)
    write_bytes_safely(path, text.encode("utf-8"))
    return {"name": f"{OWN}:{path.name}", "title": drill.title}


def passage_text(sitting: Sitting, asked: Asked) -> Document:
    """Return the passage "passage" as the text of a drill file, to be changed and kept as one's own.

    Raises:
        RequestError: no such passage.
        DrillError, FileError: it does not read, or a count line cannot say it.
    """
    name = asked.text("passage")
    own = name.startswith(f"{OWN}:") and name.endswith(SUFFIX)
    return {"text": drill_text(sitting, name), "own": own}


def drill_text(sitting: Sitting, name: str) -> str:
    """Return the passage called ``name`` on the shelf as the text of a drill file.

    What a supplied drill names beside it is left out: it lies in another folder.
    """
    path = passage_path(sitting, name)
    if is_score(path) or load_drill(path).score is not None:
        return write_drill(whole_passage(path))
    text = drill_path(path).read_text("utf-8-sig")
    return text if name.startswith(f"{OWN}:") else BESIDE.sub("\n", text)


def keep_score(sitting: Sitting, asked: Asked) -> Document:
    """Keep a score that was brought to the page, and return what the shelf calls it.

    "file" is what the person's file is called; its ending is one of ``BROUGHT``.  What does not
    read is not kept.

    Raises:
        FileError, DrillError: it does not read.
    """
    called = Path(asked.text("file"))
    path = _new(sitting, called.stem, called.suffix.lower())
    write_bytes_safely(path, asked.data)
    try:
        passage = whole_passage(str(path))
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return {"name": f"{OWN}:{path.name}", "title": passage.title}


def take_away(sitting: Sitting, asked: Asked) -> Document:
    """Take one's own passage "name" from the shelf for good.

    Raises:
        RequestError: it is not one's own, or not there.
    """
    name = asked.text("name")
    if not name.startswith(f"{OWN}:"):
        raise RequestError("the supplied passages stay: only your own can be taken away")
    # Another page may take it away at this moment: gone is gone.
    Path(passage_path(sitting, name)).unlink(missing_ok=True)
    return {"gone": name}


def _own_files(sitting: Sitting) -> list[Path]:
    found = files_there(sitting.folders.passages)
    return [path for path in found if path.suffix.lower() in BROUGHT][:MOST_OWN]


def _new(sitting: Sitting, called: str, ending: str) -> Path:
    return sitting.folders.passages / f"{plain_stem(called)}-{secrets.token_hex(3)}{ending}"


def plain_stem(called: str) -> str:
    """Return a name for a file, made of plain letters, that reminds of what it was called."""
    plain = unicodedata.normalize("NFKD", called).encode("ascii", "ignore").decode("ascii").lower()
    return re.sub(r"[^a-z0-9]+", "-", plain)[:LONGEST_STEM].strip("-") or "passage"


def called_plainly(path: Path, title: str) -> str:
    """Return ``title``, or what the file at ``path`` was called where it stands for want of a title."""
    return path.stem.rpartition("-")[0].replace("-", " ") if title == path.stem else title


def _title(path: Path) -> str:
    found = re.search(r'^\s*title\s*=\s*"([^"\n]{1,200})"', _head(path), re.MULTILINE)
    return found[1] if found else called_plainly(path, path.stem)


def _about(path: Path) -> str:
    return "your own" if path.suffix == SUFFIX else "from a score"


def _head(path: Path) -> str:
    if path.suffix != SUFFIX:
        return ""
    try:
        with path.open("rb") as file:
            return file.read(4_000).decode("utf-8", "replace")
    except OSError:
        return ""
