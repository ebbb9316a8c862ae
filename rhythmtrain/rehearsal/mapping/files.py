"""The files that mapping writes: the beat map with the help it came from, clicks, a picture."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.mapping.again import kept_lines
from rhythmtrain.rehearsal.mapping.clicks import write_with_clicks
from rhythmtrain.rehearsal.recorded.lengths import length_line
from rhythmtrain.rehearsal.recorded.marks import MapWish
from rhythmtrain.rehearsal.recorded.sounding import sound_line
from rhythmtrain.report.maps.picture import Wave, checked_ending, map_picture
from rhythmtrain.report.maps.text import Mapped
from rhythmtrain.storage.audio_files import kind_of
from rhythmtrain.storage.beat_maps import save_beat_map
from rhythmtrain.storage.recordings import Recording
from rhythmtrain.storage.safely import check_place, write_bytes_safely

WAVE_STEP_S = 0.01
BEATS_ENDING = ".beats"


def checked_goals(recording: Path, wish: MapWish) -> Path | None:
    """Return where the beat map goes, once all files that are to be written could be.

    What was tapped live is never lost: without a name it goes beside the recording.

    Raises:
        RequestError, FileError: a file that could not be written, or would be written over unasked.
    """
    output = wish.output
    if output is None and wish.live:
        output = recording.with_suffix(BEATS_ENDING)
        if output.exists():
            raise RequestError(
                f"{output} is there already: say with -o where the new beat map goes"
            )
    for goal in (output, wish.listen, wish.plot):
        if goal is not None:
            check_place(goal)
    if wish.listen is not None:
        kind_of(wish.listen)
    if wish.plot is not None:
        checked_ending(wish.plot.suffix)
    return output


def write_map(
    recording: Recording, mapped: Mapped, wish: MapWish, *, taps_s: Sequence[float], peak: float
) -> tuple[Path, ...]:
    """Write what ``wish`` asks for and return the files; ``peak`` is the largest sample."""
    if wish.output is not None:
        comment = f"{mapped.recording}, {mapped.metre}: seconds, bar.beat, standard error in s"
        sounds = sound_line(recording)
        head = (comment, length_line(recording), sounds, kept_lines(wish, taps_s))
        save_beat_map(wish.output, mapped.beat_map, comment="\n".join(filter(None, head)))
    if wish.listen is not None:
        write_with_clicks(recording, mapped.beat_map, wish.listen, peak=peak)
    if wish.plot is not None:
        kind = checked_ending(wish.plot.suffix)
        write_bytes_safely(wish.plot, map_picture(mapped, wave_of(recording), kind=kind))
    return tuple(goal for goal in (wish.output, wish.listen, wish.plot) if goal is not None)


def wave_of(recording: Recording) -> Wave:
    """Return the outline of ``recording``, its largest sample brought to 1."""
    step = max(1, round(WAVE_STEP_S * recording.rate))
    lows, highs = [], []
    rest = np.zeros(0, np.float32)
    for block in recording.blocks():
        sound = np.concatenate((rest, block))
        whole = sound.size // step * step
        table = sound[:whole].reshape(-1, step)
        lows.append(table.min(axis=1))
        highs.append(table.max(axis=1))
        rest = sound[whole:]
    low, high = (np.concatenate(part).astype(np.float64) for part in (lows, highs))
    peak = max(float(high.max()), -float(low.min()), 1e-9)
    return Wave(low / peak, high / peak, step / recording.rate)
