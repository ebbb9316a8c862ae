"""MIDI files from disk."""

from pathlib import Path

from rhythmtrain.errors import FileError
from rhythmtrain.score.midi.file import LARGEST_MIDI, MidiFile, read_midi_file
from rhythmtrain.storage.recordings import checked_file


def load_midi(path: Path) -> MidiFile:
    """Return what is whole in the MIDI file at ``path``.

    Raises:
        FileError: missing, unreadable, too large, not MIDI, or without times.
    """
    checked_file(path)
    try:
        with path.open("rb") as file:
            data = file.read(LARGEST_MIDI + 1)
    except OSError as error:
        raise FileError(f"{path} cannot be read: {error.strerror}") from error
    return read_midi_file(data, name=str(path))
