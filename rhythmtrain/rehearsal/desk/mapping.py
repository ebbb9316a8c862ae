"""A beat map made at the page: tapped along, looked at, moved beat by beat, heard, put to use.

Every tap and every beat that was moved is a mark like those of ``rhythmtrain map``: all is solved
again from what a person said, and the map keeps it.
"""

import secrets
from pathlib import Path
from typing import Any

import numpy as np

from rhythmtrain.capture.browser_clock import browser_clock
from rhythmtrain.errors import RequestError, RhythmtrainError
from rhythmtrain.hearing.onsets.onsets import find_onsets
from rhythmtrain.rehearsal.desk.arriving import pair
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.brought.accompaniment import with_accompaniment
from rhythmtrain.rehearsal.desk.recordings import BEATS, recording_path
from rhythmtrain.rehearsal.desk.shelf import OWN, drill_text, keep_drill
from rhythmtrain.rehearsal.desk.sitting import Sitting, told_as
from rhythmtrain.rehearsal.mapping.map import map_recording
from rhythmtrain.rehearsal.recorded.marks import MapWish
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.rehearsal.tracks.sound import RATE
from rhythmtrain.report.maps.text import mostly_in_doubt
from rhythmtrain.storage.beat_maps import load_beat_map
from rhythmtrain.storage.recorded_sound import sound_between
from rhythmtrain.storage.recordings import one_channel, open_recording
from rhythmtrain.storage.safely import write_bytes_safely
from rhythmtrain.timing.beatmap import BeatMap

Document = dict[str, Any]
MOST_TAPS, MOST_READINGS, MOST_MARKS = 5_000, 20_000, 2_000
NEAR_S = 0.35
NOTES = frozenset({".musicxml", ".mxl", ".xml", ".mid", ".midi"})
OF_NOTES = "-notes-"


def beats_mapped(sitting: Sitting, asked: Asked) -> Document:
    """Solve the beat map of the recording "recording" from what was said of it, and keep it.

    "tapped" are [page second] of the beats tapped from the first bar on, "clock" the readings that
    place them, "start_s" the audio context's second at which the recording's second "from_s"
    sounded.  "at" are marks ("17.2=21.73"), "bars" the bars ("45-50"), "end" the second of the last
    one where only the first were tapped, "metre" and "tempo" as one types them.  Where nothing was tapped now, what was said before counts as well: the map keeps it.

    Raises:
        RequestError: no help at all, or marks that do not go together.
        TakeError: nothing can be heard.
    """
    path = recording_path(sitting, asked.text("recording"))
    taps_s = _tapped(asked)
    start_s = asked.number("from_s", 0.0)
    beats = path.with_suffix(BEATS)
    end_s = asked.maybe_number("end")
    wish = MapWish(
        end=None if end_s is None else f"{end_s:.3f}",
        at=tuple(str(each)[:40] for each in asked.rows("at", MOST_MARKS)),
        bars=asked.maybe_text("bars"),
        start=f"{start_s:.3f}" if start_s > 0 else None,
        metre=asked.text("metre", "4/4"),
        tempo=asked.maybe_number("tempo"),
        output=beats,
        tapped_s=tuple(taps_s),
        again=beats if not taps_s and beats.is_file() else None,
    )
    told = map_recording(path, wish)
    return _found(told)


def notes_mapped(sitting: Sitting, asked: Asked) -> Document:
    """Lay the accompanist's notes, whose file came, on the recording "recording"; keep both.

    "file" is what the person's file is called, "part" whose notes they are, "order" the bars as the
    recording plays them ("1-8,1-8,9-24").

    Raises:
        RequestError: no notes by its ending, or the recording plays the bars in another order.
        TakeError: the notes do not fit the recording.
        FileError: the file does not read.
    """
    path = recording_path(sitting, asked.text("recording"))
    called = Path(asked.text("file"))
    ending = called.suffix.lower()
    if ending not in NOTES:
        raise RequestError(
            f"{called.name[:80]} holds no notes: bring MusicXML (.musicxml .mxl) or MIDI (.mid)"
        )
    beats = path.with_suffix(BEATS)
    notes = path.with_name(f"{path.stem}{OF_NOTES}{secrets.token_hex(4)}{ending}")
    write_bytes_safely(notes, asked.data)
    wish = MapWish(
        notes=notes, part=asked.maybe_text("part"), order=asked.maybe_text("order"), output=beats
    )
    try:
        told = map_recording(path, wish)
    except RhythmtrainError as error:
        notes.unlink()
        raise told_as(error, notes, called) from error
    for earlier in path.parent.glob(f"{path.stem}{OF_NOTES}*"):
        if earlier != notes:
            earlier.unlink(missing_ok=True)
    return _found(told)


def _found(told: Told) -> Document:
    """Return the beats that were found, whether most bars are in doubt, and what is to be said."""
    beats, unsure = told.document["beats"], told.document["unsure_bars"]
    most = mostly_in_doubt(len(unsure), len({each["bar"] for each in beats}))
    return told.document | {"mostly_in_doubt": most, "said": list(told.warnings)}


def beats_kept(sitting: Sitting, asked: Asked) -> Document:
    """Return the beat map of the recording "recording" as it was kept, no beats where none is."""
    path = recording_path(sitting, asked.text("recording")).with_suffix(BEATS)
    if not path.is_file():
        return {"beats": [], "unsure_bars": []}
    return {"beats": _beats(load_beat_map(path)), "unsure_bars": []}


def nearest_stroke(sitting: Sitting, asked: Asked) -> Document:
    """Return the second at which something is struck nearest to "at_s" in the recording, or null."""
    recording = open_recording(recording_path(sitting, asked.text("recording")))
    at_s = asked.number("at_s")
    begin = max(at_s - 2 * NEAR_S, 0.0)
    blocks = [
        one_channel(block)
        for block in sound_between(recording, begin, at_s + 2 * NEAR_S, rate=RATE)
    ]
    if not blocks:
        raise RequestError(f"the recording has no sound at {at_s:.2f} s: choose a beat inside it")
    onsets = find_onsets(np.concatenate(blocks), RATE, kind="plucked")
    near = [onset.time_s + begin for onset in onsets if abs(onset.time_s + begin - at_s) <= NEAR_S]
    return {"time_s": min(near, key=lambda time: abs(time - at_s)) if near else None}


def map_used(sitting: Sitting, asked: Asked) -> Document:
    """Give the passage "passage" the recording "recording" as its accompaniment, as one's own.

    Raises:
        RequestError: the recording has no beat map yet.
        DrillError: the passage cannot be written as a drill.
    """
    path = recording_path(sitting, asked.text("recording"))
    if not path.with_suffix(BEATS).is_file():
        raise RequestError("this recording has no beats yet: tap along first")
    name = asked.text("passage")
    inside = {
        key: each.relative_to(sitting.folders.passages).as_posix()
        for key, each in (("recording", path), ("beats", path.with_suffix(BEATS)))
    }
    text = with_accompaniment(drill_text(sitting, name), inside)
    return keep_drill(sitting, text, name if name.startswith(f"{OWN}:") else None)


def _tapped(asked: Asked) -> list[float]:
    """Return the taps in seconds of the recording, from the page's own clocks."""
    taps = asked.rows("tapped", MOST_TAPS)
    if not taps:
        return []
    readings = [pair(row) for row in asked.rows("clock", MOST_READINGS)]
    clock = [(context, page) for context, page in readings]
    model = browser_clock(clock, start_s=asked.number("start_s"), rate=RATE)
    from_s = asked.number("from_s", 0.0)
    return [from_s + model.track_seconds(pair([each, 0])[0]) for each in taps]


def _beats(beat_map: BeatMap) -> list[Document]:
    return [
        {
            "time_s": beat.time_s,
            "bar": beat.bar,
            "beat": beat.beat,
            "uncertainty_s": beat.uncertainty_s,
        }
        for beat in beat_map.beats
    ]
