"""A file that a person brought to the page: kept as what its ending says it is."""

from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.recordings import recording_brought
from rhythmtrain.rehearsal.desk.shelf import BROUGHT, keep_score
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.storage.recordings import AUDIO_ENDINGS

Document = dict[str, Any]


def brought(sitting: Sitting, asked: Asked) -> Document:
    """Keep the file whose bytes came; return its name and the "place" where one goes on with it.

    "file" is what the person's file is called: a score or a drill is practised, a recording mapped.

    Raises:
        RequestError: neither; what can be brought is named.
        FileError, DrillError: it does not read; it is not kept.
    """
    called = Path(asked.text("file"))
    ending = called.suffix.lower()
    if ending in BROUGHT:
        return keep_score(sitting, asked) | {"place": "practise"}
    if ending in AUDIO_ENDINGS:
        return recording_brought(sitting, asked) | {"place": "recording"}
    raise RequestError(
        f"{called.name[:80]} is no passage and no recording: bring MusicXML (.musicxml .mxl .xml), "
        "MIDI (.mid), a drill (.toml), or a recording such as a phone makes (.m4a .mp3 .wav .mp4)"
    )
