"""The history in a file of JSON lines: written out whole, and taken in line by line."""

from collections.abc import Iterator
from pathlib import Path

from rhythmtrain.errors import FileError
from rhythmtrain.rehearsal.passages.sparing import check_spared
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.remedies import remedy
from rhythmtrain.report.lines import hanging
from rhythmtrain.report.words import sentence, several
from rhythmtrain.storage.history.history import open_history
from rhythmtrain.storage.history.lines import LONGEST_LINE
from rhythmtrain.storage.recordings import checked_file
from rhythmtrain.storage.safely import check_place, told_plainly, written_beside

MOST_REFUSED = 20


def export_takes(path: Path) -> Told:
    """Write every take of the history to ``path``, one line of JSON each, the oldest first.

    Raises:
        FileError: it cannot be written.
        RequestError: it is the history itself.
    """
    check_place(path)
    check_spared([path])
    said: list[str] = []
    takes = 0
    with (
        open_history(say=said.append) as history,
        written_beside(path) as beside,
        told_plainly(path),
        beside.open("x", encoding="utf-8", newline="\n") as file,
    ):
        for line in history.export_lines():
            file.write(f"{line}\n")
            takes += 1
    text = sentence(f"{several(takes, 'take')} written to {path}")
    told = {"path": str(path), "takes": takes}
    return Told(text, told, (path,), tuple(said))


def import_takes(path: Path) -> Told:
    """Take the takes in the file ``path`` into the history; those that are there stay as they are.

    Raises:
        FileError: the file cannot be read, or the history cannot be written to.
    """
    checked_file(path)
    said: list[str] = []
    with open_history(say=said.append) as history:
        done = history.import_lines(_lines(path))
    told = {"kept": done.kept, "already": done.already, "refused": list(done.refused)}
    lines = [
        sentence(
            f"{several(done.kept, 'new take')} kept, {several(done.already, 'take')} known already"
        )
    ]
    lines += [hanging("", line, indent=2) for line in done.refused[:MOST_REFUSED]]
    if len(done.refused) > MOST_REFUSED:
        lines.append(f"and {len(done.refused) - MOST_REFUSED} more lines that were not kept")
    nothing = done.refused and not (done.kept or done.already)
    failure = f"{path.name} holds no takes: {remedy('give-takes')}" if nothing else ""
    return Told("\n".join(lines), told, (), tuple(said), failure)


def _lines(path: Path) -> Iterator[str]:
    """Yield the lines of a text file; one that is longer than any take comes in pieces.

    What is not UTF-8 comes as half letters, which no take may hold: its line is refused.
    """
    try:
        with path.open(encoding="utf-8-sig", errors="surrogateescape") as file:
            while line := file.readline(LONGEST_LINE + 1):
                yield line
    except OSError as error:
        raise FileError(f"{path} cannot be read: {error.strerror or error}") from error
