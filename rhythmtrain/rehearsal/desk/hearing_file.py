"""A take that was recorded elsewhere and brought to the page: heard as the command line hears it."""

import secrets
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path

from rhythmtrain.errors import FileError, RequestError, RhythmtrainError
from rhythmtrain.rehearsal.checking.check import CheckWish, check
from rhythmtrain.rehearsal.checking.checked import Checked
from rhythmtrain.rehearsal.checking.keeping import keep_checked
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.check_wishes import check_wish_of
from rhythmtrain.rehearsal.desk.sitting import Sitting, told_as
from rhythmtrain.rehearsal.live.keeping import NOT_KEPT, Kept
from rhythmtrain.report.take.instead_told import NOT_KEPT as SAID_NOT_KEPT
from rhythmtrain.storage.recordings import AUDIO_ENDINGS
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.storage.takes import MIDI_ENDINGS, TEXT_ENDINGS

TAKES = AUDIO_ENDINGS | MIDI_ENDINGS | TEXT_ENDINGS


@dataclass(frozen=True, slots=True)
class TakeFile:
    """A take that was brought as a file: where it lies, what was heard, what became of it."""

    path: Path
    checked: Checked
    kept: Kept
    notes: tuple[str, ...]

    def sound_file(self, _folder: Path) -> Path:
        """Return where its sound lies: it is a file already."""
        return self.path


def take_brought(sitting: Sitting, asked: Asked) -> TakeFile:
    """Hear the take whose bytes came against the passage "passage", and return what was heard.

    "file" is what the person's file is called; how it is heard is said as ``check_wish_of`` reads
    it, and "keep" puts it into the history.

    Raises:
        RequestError: no take by its ending, no such passage, values that do not go together.
        TakeError, FileError: nothing is heard in it, or it does not read.
    """
    called = Path(asked.text("file"))
    ending = called.suffix.lower()
    if ending not in TAKES:
        raise RequestError(
            f"{called.name[:80]} is no take: bring a recording such as a phone makes "
            "(.m4a .mp3 .wav .mp4), MIDI (.mid), or a list of seconds (.txt)"
        )
    wish = check_wish_of(sitting, asked)
    path = sitting.passing / f"{secrets.token_hex(8)}{ending}"
    write_bytes_safely(path, asked.data)
    said: list[str] = []
    try:
        checked = check(path, wish, say=said.append)
    except RhythmtrainError as error:
        path.unlink(missing_ok=True)
        raise told_as(error, path, called) from error
    kept = _kept(checked, wish) if asked.truth("keep") else NOT_KEPT
    return TakeFile(path, checked, kept, tuple(said))


def _kept(checked: Checked, wish: CheckWish) -> Kept:
    """Keep the take, as of today; a history that cannot be written to is said.

    A take of another piece is not kept, nor is the beat, of which it is said.
    """
    if checked.findings.instead is not None:
        return Kept(None, (SAID_NOT_KEPT,))
    if checked.findings.looks_like is False:
        return NOT_KEPT
    said: list[str] = []
    number = None
    try:
        number = keep_checked(checked, wish, now=datetime.now(UTC).astimezone(), say=said.append)
    except FileError as error:
        said.append(f"The take was heard but not kept: {error}")
    return Kept(number, tuple(said))
