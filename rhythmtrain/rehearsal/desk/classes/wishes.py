"""How a class is to be heard, as it was chosen: a slip is one sentence at once, not one a student."""

from typing import Any

from rhythmtrain.rehearsal.checking.beside_recording import beside_recording
from rhythmtrain.rehearsal.checking.check import CheckWish
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.passages.passages import practice_of, whole_passage, wished_passage
from rhythmtrain.timing.timeline import lay_out

WISHES = ("passage", "part", "bars", "speed", "tempo", "repeats", "echo", "start", "timing", "kind", "aloud", "freely", "meet", "lead_in")  # fmt: skip
Document = dict[str, Any]


def title_of(wish: CheckWish) -> str:
    """Return what the passage is called, once it is sure that a recording can be held against it.

    Raises:
        RequestError, DrillError, FileError, TakeError: what no recording could be held against.
    """
    passage = wished_passage(wish)
    if wish.timing == "recording":
        whole = whole_passage(wish.passage, part=wish.part)
        beside_recording(wish, wish.beside, passage, whole, start_s=wish.start)
        return passage.title
    lay_out(passage, practice_of(wish, passage))
    return passage.title


def wishes_said(asked: Asked) -> Document:
    """Return what was chosen, so that it stands there again when one comes back."""
    return {key: asked.values[key] for key in WISHES if asked.values.get(key) not in (None, "")}
