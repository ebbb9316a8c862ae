"""The recorded accompaniments that a person brought to the page: kept, listed, drawn, played.

They lie beside the person's own passages, under names made here, so that a drill can name them.
Whatever a phone made is decoded once, here, so that the browser plays exactly the samples whose
seconds the beat map speaks of.
"""

import secrets
from pathlib import Path
from typing import Any

import numpy as np

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.shelf import plain_stem
from rhythmtrain.rehearsal.desk.sitting import Sitting
from rhythmtrain.rehearsal.mapping.files import wave_of
from rhythmtrain.rehearsal.tracks.sound import RATE
from rhythmtrain.storage.audio_files import write_audio
from rhythmtrain.storage.folders import files_there
from rhythmtrain.storage.recorded_sound import sound_between
from rhythmtrain.storage.recordings import AUDIO_ENDINGS, Recording, open_recording
from rhythmtrain.storage.safely import write_bytes_safely

BEATS, HEARD = ".beats", ".heard.flac"
LONGEST_S = 3600.0
MOST_STEPS = 6_000
Document = dict[str, Any]


def recordings(sitting: Sitting) -> Document:
    """Return the recordings that were brought, the newest first."""
    return {
        "recordings": [
            {
                "name": path.name,
                "title": recording_title(path),
                "mapped": path.with_suffix(BEATS).is_file(),
            }
            for path in _files(sitting)
        ]
    }


def recording_brought(sitting: Sitting, asked: Asked) -> Document:
    """Keep the recording whose bytes came, and return its name.

    "file" is what it was called; its ending is one of ``AUDIO_ENDINGS``.

    Raises:
        RequestError: it is longer than an hour; it is not kept.
        FileError: there is no sound in it, or it is damaged; it is not kept.
    """
    called = Path(asked.text("file"))
    stem = f"{plain_stem(called.stem)}-{secrets.token_hex(3)}"
    path = sitting.folders.recordings / f"{stem}{called.suffix.lower()}"
    write_bytes_safely(path, asked.data)
    try:
        _made_playable(path)
    except BaseException:
        path.unlink(missing_ok=True)
        raise
    return {"name": path.name}


def recording_shown(sitting: Sitting, asked: Asked) -> Document:
    """Return how loud the recording "recording" is along its time, from 0 to 1, and its length."""
    path = recording_path(sitting, asked.text("recording"))
    recording = open_recording(path)
    wave = wave_of(recording)
    peaks = np.maximum(wave.high, -wave.low)
    duration_s = len(peaks) * wave.step_s
    if len(peaks) > MOST_STEPS:
        step = -(-len(peaks) // MOST_STEPS)
        peaks = np.pad(peaks, (0, -len(peaks) % step)).reshape(-1, step).max(axis=1)
    return {"duration_s": duration_s, "peaks": [round(float(peak), 3) for peak in peaks]}


def recording_sound(sitting: Sitting, asked: Asked) -> Path:
    """Return the file with the sound of the recording "recording" as the page plays it."""
    path = recording_path(sitting, asked.text("recording"))
    playable = path.with_suffix(HEARD)
    return playable if playable.is_file() else _made_playable(path)


def recording_path(sitting: Sitting, name: str) -> Path:
    """Return where the recording called ``name`` lies; RequestError where there is none."""
    for path in _files(sitting):
        if path.name == name:
            return path
    raise RequestError(f"there is no recording {name[:80]!r} here any more: bring it again")


def recording_title(path: Path) -> str:
    """Return what a recording was called when it was brought, as far as its file tells."""
    return path.stem.rpartition("-")[0].replace("-", " ")


def _files(sitting: Sitting) -> list[Path]:
    return [
        path
        for path in files_there(sitting.folders.recordings)
        if path.suffix.lower() in AUDIO_ENDINGS and not path.name.endswith(HEARD)
    ]


def _made_playable(path: Path) -> Path:
    recording = open_recording(path)
    _check_length(recording)
    playable = path.with_suffix(HEARD)
    blocks = sound_between(recording, 0.0, LONGEST_S, rate=RATE)
    write_audio(playable, blocks, RATE, title=path.stem, comment="")
    return playable


def _check_length(recording: Recording) -> None:
    if recording.duration_s is not None and recording.duration_s > LONGEST_S:
        raise RequestError(
            f"{recording.path.name} is longer than an hour: bring the piece alone, or the few bars "
            "that matter"
        )
