"""Score files from disk."""

from pathlib import Path

from rhythmtrain.errors import FileError
from rhythmtrain.score.abc.document import read_abc
from rhythmtrain.score.musicxml.container import LARGEST_SCORE
from rhythmtrain.score.musicxml.document import Score, read_score
from rhythmtrain.storage.takes import MIDI_ENDINGS

ABC = ".abc"
SCORE_ENDINGS = frozenset({".musicxml", ".mxl", ".xml", ABC})


def is_score(name: str) -> bool:
    """Return whether ``name`` ends as MusicXML, ABC or MIDI files do."""
    return Path(name).suffix.lower() in SCORE_ENDINGS or is_midi(name)


def is_midi(name: str) -> bool:
    """Return whether ``name`` ends as MIDI files do."""
    return Path(name).suffix.lower() in MIDI_ENDINGS


def load_score(path: Path) -> Score:
    """Return the score in the MusicXML file, plain or zipped, or in the ABC file, at ``path``.

    Raises:
        FileError: missing, unreadable, too large, no such score, damaged or hostile.
    """
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_SCORE + 1)
    except FileNotFoundError as error:
        raise FileError(f"there is no file {path}") from error
    except (OSError, ValueError) as error:
        raise FileError(f"{path} cannot be read: {error}") from error
    if path.suffix.lower() == ABC:
        return read_abc(data, name=path.name)
    return read_score(data, name=path.name)
