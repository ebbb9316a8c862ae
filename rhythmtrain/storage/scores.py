"""Score files from disk."""

from pathlib import Path

from rhythmtrain.errors import FileError
from rhythmtrain.score.musicxml.container import LARGEST_SCORE
from rhythmtrain.score.musicxml.document import Score, read_score
from rhythmtrain.storage.takes import MIDI_ENDINGS

SCORE_ENDINGS = frozenset({".musicxml", ".mxl", ".xml"})


def is_score(name: str) -> bool:
    """Return whether ``name`` ends as MusicXML or MIDI files do."""
    return Path(name).suffix.lower() in SCORE_ENDINGS or is_midi(name)


def is_midi(name: str) -> bool:
    """Return whether ``name`` ends as MIDI files do."""
    return Path(name).suffix.lower() in MIDI_ENDINGS


def load_score(path: Path) -> Score:
    """Return the score in the MusicXML file at ``path``, plain or zipped.

    Raises:
        FileError: missing, unreadable, too large, no MusicXML, damaged or hostile.
    """
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_SCORE + 1)
    except FileNotFoundError as error:
        raise FileError(f"there is no file {path}") from error
    except (OSError, ValueError) as error:
        raise FileError(f"{path} cannot be read: {error}") from error
    return read_score(data, name=path.name)
