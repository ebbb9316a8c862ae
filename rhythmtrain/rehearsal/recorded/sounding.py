"""Whether a recording sounds like the one that its beat map was made of.

A recording can be replaced by another of the same length, and nothing of it would be noticed but that
everybody is called late.  So a map keeps what its recording sounds like (``hearing.recording.likeness``):

    # kept: sounds .-++..--+-+.-+

That is a doubt and no refusal: whoever knows better goes on.  Maps from elsewhere say nothing, and are
believed.
"""

from functools import lru_cache
from pathlib import Path

from rhythmtrain.hearing.recording.likeness import likeness, sounds_other
from rhythmtrain.rehearsal.recorded.accompaniment import NO_FILES, RecordingFiles, files_of
from rhythmtrain.storage.beat_maps import read_map_text
from rhythmtrain.storage.recordings import Recording, open_recording

SOUNDS = "kept: sounds "
OTHER = (
    "{beats} was made of a recording that sounds otherwise than {recording} does now: if that was "
    "replaced, map it again, or what is played to it may be called early or late wrongly."
)
MOST_KNOWN = 32


def sound_line(recording: Recording) -> str:
    """Return the line, for the head of a beat map, that keeps what ``recording`` sounds like."""
    return f"{SOUNDS}{_likeness(recording)}"


def sound_doubts(name: str, files: RecordingFiles = NO_FILES) -> tuple[str, ...]:
    """Return a sentence where the accompaniment of the passage called ``name`` was replaced.

    ``files`` come before what the drill names; without a recording or a map there is no doubt.

    Raises:
        FileError: a file is missing, or no recording.
    """
    found = files_of(name, files)
    if found.recording is None or found.beats is None:
        return ()
    return other_sound(open_recording(found.recording), found.beats)


def other_sound(recording: Recording, beats: Path) -> tuple[str, ...]:
    """Return a sentence where ``recording`` is plainly not what the map in the file ``beats`` keeps."""
    kept = _kept(beats)
    if not kept or not sounds_other(kept, _likeness(recording)):
        return ()
    return (OTHER.format(beats=beats.name, recording=recording.path.name),)


def _kept(beats: Path) -> str:
    sign = f"# {SOUNDS}"
    lines = (line for line in read_map_text(beats).splitlines() if line.startswith(sign))
    return next((line.removeprefix(sign).strip() for line in lines), "")


def _likeness(recording: Recording) -> str:
    told = recording.path.stat()
    return _known(recording, told.st_mtime_ns, told.st_size)


@lru_cache(MOST_KNOWN)
def _known(recording: Recording, _changed_ns: int, _size: int) -> str:
    """Return what a recording sounds like; a file that nobody changed since is not read again."""
    return likeness(recording.blocks(), recording.rate)
