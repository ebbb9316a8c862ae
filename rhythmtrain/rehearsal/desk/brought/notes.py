"""The accompanist's notes, brought for a passage: what is played before an entry is known from then on.

They are kept beside one's own passages, and the passage names them, so that an entry after the wrong
cue is told wherever the passage is practised or heard.
"""

import secrets
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError, RhythmtrainError
from rhythmtrain.rehearsal.cueing.known import with_notes
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.brought.accompaniment import with_accompaniment
from rhythmtrain.rehearsal.desk.shelf import OWN, drill_text, keep_drill, passage_path, plain_stem
from rhythmtrain.rehearsal.desk.sitting import Sitting, told_as
from rhythmtrain.rehearsal.passages.passages import whole_passage
from rhythmtrain.rehearsal.recorded.notes import READERS
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.timing.timeline import lay_out

Document = dict[str, Any]


def notes_brought(sitting: Sitting, asked: Asked) -> Document:
    """Give the passage "passage" the accompanist's notes whose bytes came, as one's own; return its name.

    "file" is what the person's file is called.

    Raises:
        RequestError: no notes by its ending, or none in the bars of the passage.
        DrillError, FileError: one of them does not read; nothing is kept.
    """
    name, called = asked.text("passage"), Path(asked.text("file"))
    ending = called.suffix.lower()
    if ending not in READERS:
        raise RequestError(
            f"{called.name[:80]} holds no notes: bring MusicXML (.musicxml .mxl) or MIDI (.mid)"
        )
    shelved = passage_path(sitting, name)
    stem = f"{plain_stem(called.stem)}-{secrets.token_hex(3)}"
    notes = sitting.folders.recordings / f"{stem}{ending}"
    write_bytes_safely(notes, asked.data)
    said: list[str] = []
    try:
        with_notes(lay_out(whole_passage(shelved)), shelved, notes, said.append)
        inside = notes.relative_to(sitting.folders.passages).as_posix()
        text = with_accompaniment(drill_text(sitting, name), {"notes": inside})
        kept = keep_drill(sitting, text, name if name.startswith(f"{OWN}:") else None)
    except RhythmtrainError as error:
        notes.unlink()
        raise told_as(error, notes, called) from error
    return kept | {"said": said}
