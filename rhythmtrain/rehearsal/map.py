"""Mapping a recording: from its sound and what a person says of it to a beat map, heard and written.

What a person says may be taps (from a file, or tapped now while it plays), marks, the
accompanist's notes, or what an earlier beat map keeps of them.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.hearing.active_span import active_span
from rhythmtrain.hearing.beat_evidence import beat_evidence
from rhythmtrain.hearing.spectra import Spectra, SpectraFinder
from rhythmtrain.notate.beat_solver import BLIND, UNSURE_CHANCE, Curves, Solved, solve_beats
from rhythmtrain.rehearsal.map_again import taken_up
from rhythmtrain.rehearsal.map_files import checked_goals, write_map
from rhythmtrain.rehearsal.map_live import DRY_BEAT_S, On, Tapped, tap_along, tapped_on
from rhythmtrain.rehearsal.map_marks import (
    Asked,
    MapWish,
    asked_for,
    bars_to_tap,
    pace_doubts,
    seconds_of,
)
from rhythmtrain.rehearsal.map_notes import mapped_by_notes, marks_on, notes_for
from rhythmtrain.rehearsal.recording_doubts import recording_doubts
from rhythmtrain.rehearsal.stage import NoStage, Stage
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.report.lines import hanging
from rhythmtrain.report.map_text import Mapped, map_document, map_text
from rhythmtrain.report.tapping_screen import Tapping
from rhythmtrain.score.metre import Metre
from rhythmtrain.storage.beat_maps import load_taps
from rhythmtrain.storage.recordings import Recording, open_recording
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat
from rhythmtrain.units import beat_seconds


@dataclass(frozen=True, slots=True)
class _Heard:
    """A recording, what was heard of it from ``start_s`` on."""

    recording: Recording
    spectra: Spectra
    start_s: float

    @property
    def duration_s(self) -> float:
        """Return how long the recording is."""
        return self.start_s + self.spectra.duration_s

    @property
    def music_s(self) -> tuple[float, float]:
        """Return the seconds between which there is music."""
        begun, ended = active_span(self.spectra)
        return begun + self.start_s, ended + self.start_s


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
    wish = taken_up(wish)
    wish = replace(wish, output=checked_goals(path, wish))
    helped = (wish.taps, wish.at, wish.tapped_s, wish.live, wish.notes)
    if not any(helped):
        raise RequestError(BLIND)
    recording = open_recording(path)
    start_s = seconds_of(wish.start) if wish.start is not None else 0.0
    way = _by_notes if wish.notes is not None else _by_marks
    found = way(recording, wish, (start_s, stage or NoStage()), progress)
    mapped, peak = found.mapped, found.peak
    beats = mapped.beat_map.beats
    doubts = recording_doubts(recording, beats[0].time_s, beats[-1].time_s)
    files = write_map(recording, mapped, wish, taps_s=found.taps_s, peak=peak)
    kept_in = None if wish.output is None else str(wish.output)
    lines = [map_text(mapped, kept_in=kept_in)]
    lines += [hanging("", line, indent=0) for line in (*found.said, *doubts)]
    lines += [f"Written to {file}." for file in files]
    return Told("\n".join(lines), map_document(mapped), files)


@dataclass(frozen=True, slots=True)
class _Found:
    """What was mapped, the largest sample, the taps to keep, and sentences on how it went."""

    mapped: Mapped
    peak: float
    taps_s: tuple[float, ...] = ()
    said: tuple[str, ...] = ()


def _by_marks(
    recording: Recording, wish: MapWish, begin: tuple[float, Stage], progress: Progress
) -> _Found:
    """Return the map from taps and marks; ``begin`` is the second to begin at, and the stage."""
    start_s, stage = begin
    metre = Metre.parse(wish.metre, beat=wish.beat)
    end_s = seconds_of(wish.end) if wish.end is not None else None
    tapped = _tapped(recording, wish, (len(metre.beats), start_s), stage)
    asked = asked_for(wish, len(metre.beats), tapped.times_s, end_s)
    heard = _Heard(recording, _spectra(recording, start_s, progress), start_s)
    solved = _solved(heard, asked, wish.tempo)
    mapped = _mapped(heard, str(metre), asked, solved)
    said = (*tapped.said, *pace_doubts(asked))
    return _Found(mapped, heard.spectra.peak, tapped.times_s, said)


def _by_notes(
    recording: Recording, wish: MapWish, begin: tuple[float, Stage], progress: Progress
) -> _Found:
    """Return the map from the accompanist's notes and marks; taps are not needed."""
    start_s, _ = begin
    if wish.notes is None or wish.live or wish.taps is not None:
        raise RequestError("with --notes nothing has to be tapped: leave out --taps and --live")
    read = notes_for(wish, wish.notes)
    marks = marks_on(read, wish, start_s)
    heard = _Heard(recording, _spectra(recording, start_s, progress), start_s)
    pairs = mapped_by_notes(heard.spectra, read, wish, marks)
    beats = tuple(
        MappedBeat(solved.time_s + start_s, beat.bar, beat.beat, solved.uncertainty_s)
        for beat, solved in pairs
    )
    chances: dict[int, float] = {}
    for beat, solved in pairs:
        chances[beat.bar] = min(solved.chance, chances.get(beat.bar, 1.0))
    unsure = sorted((chance, bar) for bar, chance in chances.items() if chance < UNSURE_CHANCE)
    metres = dict.fromkeys(str(bar.metre) for bar in read.part.bars)
    mapped = Mapped(
        recording=recording.path.name,
        duration_s=heard.duration_s,
        metre=", ".join(list(metres)[:4]),
        beat_map=BeatMap(beats),
        unsure_bars=tuple(bar for _, bar in unsure),
        bias_s=None,
        music_s=heard.music_s,
    )
    return _Found(mapped, heard.spectra.peak, said=read.said)


def _tapped(recording: Recording, wish: MapWish, bar: tuple[int, float], stage: Stage) -> Tapped:
    """Return what was tapped: now, in a file, or earlier; ``bar`` is its beats and the start."""
    beats_a_bar, start_s = bar
    if not wish.live:
        return Tapped(load_taps(wish.taps) if wish.taps is not None else wish.tapped_s, ())
    if wish.taps is not None:
        raise RequestError("taps come from --live or from --taps FILE, not from both")
    tapped_on(wish.on)
    first, count = bars_to_tap(wish, beats_a_bar)
    tapping = Tapping(
        recording.path.name, start_s, first, beats_a_bar, count, source=wish.on.partition(":")[0]
    )
    beat_s = beat_seconds(wish.tempo) if wish.tempo is not None else DRY_BEAT_S
    on = On(wish.on, wish.loudspeaker, beat_s if wish.dry_run else None)
    return tap_along(recording, tapping, on, stage)


def _spectra(recording: Recording, start_s: float, progress: Progress) -> Spectra:
    """Return the spectra of ``recording`` from ``start_s`` on."""
    finder = SpectraFinder(recording.rate)
    skipped = round(start_s * recording.rate)
    done = 0
    for block in recording.blocks():
        finder.feed(block[max(skipped - done, 0) :])
        done += len(block)
        progress(done / recording.rate, recording.duration_s or 0.0, "listening")
    if done <= skipped:
        raise RequestError(
            f"the recording lasts {done / recording.rate:.1f} s: it has nothing from "
            f"{start_s:g} s on"
        )
    try:
        return finder.finish()
    except TakeError as error:
        raise TakeError(f"{recording.path}: {error}") from error


def _solved(heard: _Heard, asked: Asked, tempo: float | None) -> Solved:
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


def _mapped(heard: _Heard, metre: str, asked: Asked, solved: Solved) -> Mapped:
    beats = tuple(
        MappedBeat(
            beat.time_s + heard.start_s,
            asked.first_bar + number // asked.beats_a_bar,
            1 + number % asked.beats_a_bar,
            beat.uncertainty_s,
        )
        for number, beat in enumerate(solved.beats)
    )
    return Mapped(
        recording=heard.recording.path.name,
        duration_s=heard.duration_s,
        metre=metre,
        beat_map=BeatMap(beats),
        unsure_bars=tuple(asked.first_bar + bar for bar in solved.unsure_bars),
        bias_s=solved.bias_s,
        music_s=heard.music_s,
    )
