"""A rhythm clapped at the page, or brought as a recording, and written down as a drill."""

import secrets
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.rehearsal.checking.transcribe import TranscribeWish, transcribe_file
from rhythmtrain.rehearsal.desk.arriving import KINDS
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.page_words import at_the_page
from rhythmtrain.rehearsal.desk.recordings import recording_path, recording_title
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.storage.recordings import AUDIO_ENDINGS
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.storage.takes import MIDI_ENDINGS

MOST_TAPS = 5_000
Document = dict[str, Any]


def clapped_in(sitting: Sitting, asked: Asked) -> Document:
    """Return the rhythm of "taps", seconds of any one clock, as the text of a drill.

    "metre" must be said, bar by bar where it changes; "tempo", "times", "title", "beat" (what gets a
    count) and "first" (the count of the first clap) help.  The document says how sure each bar is.

    Raises:
        RequestError: no metre, or values that make no sense.
        TakeError: too little was clapped, or no rhythm fits it.
    """
    times = sorted(Asked({"at": at}).number("at") for at in asked.rows("taps", MOST_TAPS))
    if not times:
        raise TakeError("nothing was clapped: press any key on every note")
    text = "\n".join(f"{time - times[0] + 1:.6f}" for time in times)
    path = sitting.passing / f"{secrets.token_hex(8)}.txt"
    write_bytes_safely(path, text.encode())
    return _written_down(path, asked, title=asked.text("title", "Clapped in"))


def recording_written_down(sitting: Sitting, asked: Asked) -> Document:
    """Return the rhythm clapped in the recording whose bytes came; "file" is what it was called.

    "recording" names one that was brought before instead; "kind" is what is listened for.

    Raises:
        RequestError: no recording, no metre.
        TakeError, FileError: nothing is heard in it, or it does not read.
    """
    if asked.maybe_text("recording") is not None:
        path = recording_path(sitting, asked.text("recording"))
        output = sitting.passing / f"{secrets.token_hex(8)}.toml"
        return _written_down(path, asked, title=recording_title(path), output=output)
    called = Path(asked.text("file"))
    if called.suffix.lower() not in AUDIO_ENDINGS | MIDI_ENDINGS:
        raise RequestError(
            f"{called.name[:80]} is no recording: bring one that a phone makes, or MIDI (.mid)"
        )
    path = sitting.passing / f"{secrets.token_hex(8)}{called.suffix.lower()}"
    write_bytes_safely(path, asked.data)
    try:
        return _written_down(path, asked, title=asked.text("title", called.stem))
    finally:
        path.unlink(missing_ok=True)


def _written_down(path: Path, asked: Asked, *, title: str, output: Path | None = None) -> Document:
    if asked.text("kind", KINDS[0]) not in KINDS:
        raise RequestError(f"what is listened for is one of {', '.join(KINDS)}")
    output = output or path.with_suffix(".toml")
    wish = TranscribeWish(
        metre=asked.text("metre"),
        tempo=asked.maybe_number("tempo"),
        beat=asked.maybe_text("beat"),
        first=asked.maybe_text("first") or "1",
        kind=asked.text("kind", KINDS[0]),
        times=None if asked.values.get("times") is None else asked.whole("times"),
        title=title[:200],
        output=output,
    )
    told = transcribe_file(path, wish)
    text = output.read_text("utf-8")
    output.unlink()
    return told.document | {"text": text, "said": _without_file(told.worded(at_the_page).text)}


def _without_file(text: str) -> str:
    """Return what was said of the rhythm, without the lines on the file it was written to."""
    return "\n".join(line for line in text.splitlines() if ".toml" not in line)
