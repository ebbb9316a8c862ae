"""Hearing a take: whatever file a person has, as onsets on one clock."""

from pathlib import Path

import numpy as np

from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.errors import FileError, TakeError
from rhythmtrain.hearing.held import HeldNotes
from rhythmtrain.hearing.onsets.onset import Onset
from rhythmtrain.hearing.onsets.onsets import OnsetFinder
from rhythmtrain.rehearsal.checking.counted_aloud import NOTHING_STOOD_OUT
from rhythmtrain.rehearsal.told import Progress, quietly
from rhythmtrain.storage.recordings import AUDIO_ENDINGS, Recording, checked_file, open_recording
from rhythmtrain.storage.takes import MIDI_ENDINGS, TEXT_ENDINGS, read_midi_take, read_text_take

LONGEST_S = 6 * 3600.0
# What sounds on until it is stopped, so that its end can be heard.
SUSTAINED = frozenset({"voice", "wind", "brass", "strings"})


def hear_take(
    path: Path, *, kind: str = "claps", aloud: bool = False, progress: Progress = quietly
) -> Take:
    """Return what was played in the file at ``path``: audio, MIDI, or a text file of seconds.

    ``aloud`` is whether the player counted aloud while clapping.

    Raises:
        FileError: the file cannot be read.
        TakeError: nothing was heard in it.
        RequestError: there is no such ``kind`` of sound.
    """
    ending = path.suffix.lower()
    if ending in TEXT_ENDINGS:
        return read_text_take(path)
    if ending in MIDI_ENDINGS:
        return read_midi_take(path)
    if ending in AUDIO_ENDINGS:
        recording = open_recording(path)
        held = HeldNotes(recording.rate) if kind in SUSTAINED else None
        finder = OnsetFinder(recording.rate, kind=kind, aloud=aloud)
        return _hear(recording, finder, held, progress)
    checked_file(path)
    known = " ".join(sorted(AUDIO_ENDINGS | MIDI_ENDINGS | TEXT_ENDINGS))
    raise FileError(f"{path} is not a kind of take that can be read ({known})")


def _hear(
    recording: Recording, finder: OnsetFinder, held: HeldNotes | None, progress: Progress
) -> Take:
    onsets: list[Onset] = []
    frames = 0
    try:
        for block in recording.blocks():
            onsets += finder.feed(block)
            if held is not None:
                held.feed(block)
            frames += len(block)
            heard_s = frames / recording.rate
            progress(heard_s, recording.duration_s or 0.0, "listening")
            _refuse_longer(heard_s)
        onsets += finder.finish()
    except TakeError as error:
        raise TakeError(f"{recording.path}: {error}") from error
    name = recording.path.name
    if not onsets and finder.candidates:
        raise TakeError(f"{recording.path}: {NOTHING_STOOD_OUT}")
    if not onsets:
        raise TakeError(f"{recording.path}: no clap or note was heard; was the microphone on?")
    times = tuple(onset.time_s for onset in onsets)
    lengths = (None,) * len(times) if held is None else held.lengths_s(times)
    heard = tuple(
        _with_codec(onset, recording.codec_shift_s, length_s)
        for onset, length_s in zip(onsets, lengths, strict=True)
    )
    return Take("audio", name, heard, frames / recording.rate)


def _refuse_longer(heard_s: float) -> None:
    if heard_s > LONGEST_S:
        raise TakeError(f"longer than {LONGEST_S / 3600:g} hours: cut out the part to hear")


def _with_codec(onset: Onset, shift_s: float, length_s: float | None) -> Heard:
    sure = float(np.hypot(onset.uncertainty_s, shift_s / 2))
    return Heard(max(onset.time_s, 0.0), onset.strength, sure, length_s)
