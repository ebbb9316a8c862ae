"""Mapping a recording by what a person tapped on it and marked in it by ear."""

from collections.abc import Sequence

from rhythmtrain.errors import RequestError
from rhythmtrain.hearing.recording.beat_evidence import beat_evidence
from rhythmtrain.notate.beats.marked_lattice import Curves
from rhythmtrain.notate.beats.solver import Solved, solve_beats
from rhythmtrain.rehearsal.live.stage import Stage
from rhythmtrain.rehearsal.mapping.doubts import (
    count_doubts,
    doubted_bars,
    lone_mark_doubts,
    pace_doubts,
)
from rhythmtrain.rehearsal.mapping.heard import Found, Heard, heard_from
from rhythmtrain.rehearsal.mapping.live import DRY_BEAT_S, On, Tapped, tap_along, tapped_on
from rhythmtrain.rehearsal.recorded.marks import (
    Asked,
    MapWish,
    asked_for,
    bars_to_tap,
    seconds_of,
)
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.remedies import option
from rhythmtrain.report.maps.tapping_screen import Tapping
from rhythmtrain.report.maps.text import Mapped
from rhythmtrain.score.metre import Metre
from rhythmtrain.storage.beat_maps import load_taps
from rhythmtrain.storage.recordings import Recording
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat
from rhythmtrain.units import beat_seconds


def found_by_marks(
    recording: Recording, wish: MapWish, begin: tuple[float, Stage], progress: Progress
) -> Found:
    """Return the map from taps and marks; ``begin`` is the second to begin at, and the stage.

    Raises:
        RequestError: marks that do not go together.
        TakeError: nothing can be heard in the recording, or nothing was tapped.
        FileError: a file does not read.
        DeviceError, MissingPartError: a device for tapping along is missing.
    """
    start_s, stage = begin
    metre = Metre.parse(wish.metre, beat=wish.beat)
    end_s = seconds_of(wish.end) if wish.end is not None else None
    tapped = _tapped(recording, wish, (len(metre.beats), start_s), stage)
    asked = asked_for(wish, len(metre.beats), tapped.times_s, end_s)
    heard = heard_from(recording, start_s, progress)
    solved = _solved(heard, asked, wish.tempo)
    mapped = _mapped(heard, str(metre), asked, solved)
    beats = mapped.beat_map.beats
    questions = pace_doubts(asked) or count_doubts(wish, asked, solved.miscounts, beats)
    said = (*tapped.said, *lone_mark_doubts(wish, asked), *questions)
    return Found(mapped, heard.spectra.peak, tapped.times_s, said)


def _tapped(recording: Recording, wish: MapWish, bar: tuple[int, float], stage: Stage) -> Tapped:
    """Return what was tapped: now, in a file, or earlier; ``bar`` is its beats and the start."""
    beats_a_bar, start_s = bar
    if not wish.live:
        return Tapped(load_taps(wish.taps) if wish.taps is not None else wish.tapped_s, ())
    if wish.taps is not None:
        raise RequestError(
            f"taps come from {option('live')} or from {option('taps', 'FILE')}, not from both"
        )
    tapped_on(wish.on)
    first, count = bars_to_tap(wish, beats_a_bar)
    tapping = Tapping(
        recording.path.name, start_s, first, beats_a_bar, count, source=wish.on.partition(":")[0]
    )
    beat_s = beat_seconds(wish.tempo) if wish.tempo is not None else DRY_BEAT_S
    on = On(wish.on, wish.loudspeaker, beat_s if wish.dry_run else None)
    return tap_along(recording, tapping, on, stage)


def _solved(heard: Heard, asked: Asked, tempo: float | None) -> Solved:
    evidence = beat_evidence(heard.spectra)
    return solve_beats(
        Curves(evidence.onsets, evidence.phases),
        beats_a_bar=asked.beats_a_bar,
        count=asked.fitting(heard.duration_s),
        anchors=_from(asked.anchors, heard.start_s),
        taps=_from(asked.taps, heard.start_s),
        beat_hint_s=None if tempo is None else beat_seconds(tempo),
    )


def _from(marks: Sequence[tuple[int, float]], start_s: float) -> list[tuple[int, float]]:
    return [(beat, time - start_s) for beat, time in marks]


def _mapped(heard: Heard, metre: str, asked: Asked, solved: Solved) -> Mapped:
    beats = tuple(
        MappedBeat(
            beat.time_s + heard.start_s,
            asked.first_bar + number // asked.beats_a_bar,
            1 + number % asked.beats_a_bar,
            beat.uncertainty_s,
        )
        for number, beat in enumerate(solved.beats)
    )
    unsure = (asked.first_bar + bar for bar in solved.unsure_bars)
    return Mapped(
        recording=heard.recording.path.name,
        duration_s=heard.duration_s,
        metre=metre,
        beat_map=BeatMap(beats),
        unsure_bars=tuple(dict.fromkeys((*doubted_bars(asked, solved.miscounts), *unsure))),
        bias_s=solved.bias_s,
        music_s=heard.music_s,
    )
