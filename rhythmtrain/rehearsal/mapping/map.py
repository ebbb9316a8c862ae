"""Mapping a recording: from its sound and what a person says of it to a beat map, heard and written.

What a person says may be taps (from a file, or tapped now while it plays), marks, the
accompanist's notes, or what an earlier beat map keeps of them.
"""

from dataclasses import replace
from pathlib import Path

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.beats.solver import BLIND
from rhythmtrain.rehearsal.live.stage import NoStage, Stage
from rhythmtrain.rehearsal.mapping.again import taken_up
from rhythmtrain.rehearsal.mapping.by_marks import found_by_marks
from rhythmtrain.rehearsal.mapping.by_notes import found_by_notes
from rhythmtrain.rehearsal.mapping.files import checked_goals, write_map
from rhythmtrain.rehearsal.recorded.doubts import recording_doubts
from rhythmtrain.rehearsal.recorded.lengths import check_map_anew
from rhythmtrain.rehearsal.recorded.marks import MapWish, seconds_of
from rhythmtrain.rehearsal.recorded.sounding import other_sound
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.report.lines import hanging
from rhythmtrain.report.maps.text import map_document, map_text
from rhythmtrain.storage.recordings import open_recording


def map_recording(
    path: Path, wish: MapWish, stage: Stage | None = None, *, progress: Progress = quietly
) -> Told:
    """Return the beat map of the recording at ``path``; writes it, and clicks over it, where asked.

    Raises:
        RequestError: no help at all, marks that do not go together, or notes in another order.
        TakeError: nothing can be heard in the recording, nothing was tapped, or notes do not fit.
        FileError: a file cannot be read or written.
        DeviceError, MissingPartError: a device for tapping along is missing.
    """
    in_place = wish.again if wish.output is None else None
    wish = taken_up(wish)
    wish = replace(wish, output=checked_goals(path, wish))
    helped = (wish.taps, wish.at, wish.tapped_s, wish.live, wish.notes)
    if not any(helped):
        raise RequestError(BLIND)
    recording = open_recording(path)
    if in_place is not None:
        check_map_anew(recording, in_place)
    start_s = seconds_of(wish.start) if wish.start is not None else 0.0
    way = found_by_notes if wish.notes is not None else found_by_marks
    found = way(recording, wish, (start_s, stage or NoStage()), progress)
    mapped = found.mapped
    beats = mapped.beat_map.beats
    doubts = recording_doubts(recording, beats[0].time_s, beats[-1].time_s)
    doubts += () if in_place is None else other_sound(recording, in_place)
    files = write_map(recording, mapped, wish, taps_s=found.taps_s, peak=found.peak)
    kept_in = None if wish.output is None else str(wish.output)
    lines = [map_text(mapped, kept_in=kept_in, asked=found.said)]
    lines += [hanging("", line, indent=0) for line in doubts]
    lines += [f"Written to {file}." for file in files]
    return Told("\n".join(lines), map_document(mapped), files)
