"""Mapping a recording: from its sound and what a person marks to a beat map, heard and written."""

import re
from pathlib import Path

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.hearing.active_span import active_span
from rhythmtrain.hearing.beat_evidence import beat_evidence
from rhythmtrain.hearing.spectra import Spectra, SpectraFinder
from rhythmtrain.notate.beat_solver import BLIND, Curves, Solved, solve_beats
from rhythmtrain.rehearsal.map_clicks import write_with_clicks
from rhythmtrain.rehearsal.map_marks import Asked, MapWish, asked_for
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.report.map_text import Mapped, map_document, map_text
from rhythmtrain.score.metre import Metre
from rhythmtrain.storage.audio_files import kind_of
from rhythmtrain.storage.beat_maps import load_taps, save_beat_map
from rhythmtrain.storage.recordings import Recording, open_recording
from rhythmtrain.storage.safely import check_place
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat
from rhythmtrain.units import beat_seconds

_CLOCK = re.compile(r"(?:(\d{1,3}):)?(\d{1,5}(?:\.\d{1,6})?)", re.ASCII)


def map_recording(path: Path, wish: MapWish, *, progress: Progress = quietly) -> Told:
    """Return the beat map of the recording at ``path``; writes it, and clicks over it, where asked.

    Raises:
        RequestError: no help at all, or marks that do not go together.
        TakeError: nothing can be heard in the recording.
        FileError: a file cannot be read or written.
    """
    for goal in (wish.output, wish.listen):
        if goal is not None:
            check_place(goal)
    if wish.listen is not None:
        kind_of(wish.listen)
    if wish.taps is None and not wish.at:
        raise RequestError(BLIND)
    metre = Metre.parse(wish.metre, beat=wish.beat)
    taps = load_taps(wish.taps) if wish.taps is not None else ()
    start_s = seconds_of(wish.start) if wish.start is not None else 0.0
    end_s = seconds_of(wish.end) if wish.end is not None else None
    asked = asked_for(wish, len(metre.beats), taps, end_s)
    recording = open_recording(path)
    spectra = _heard(recording, start_s, progress)
    solved = _solved(spectra, asked, start_s, wish.tempo)
    mapped = _mapped(path, str(metre), (spectra, start_s), asked, solved)
    files = _written(recording, mapped, wish, spectra.peak)
    text = map_text(mapped) + "".join(f"\nWritten to {file}." for file in files)
    return Told(text, map_document(mapped), files)


def seconds_of(text: str) -> float:
    """Return the seconds that "92.5" or "1:32.5" say, else RequestError."""
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        raise RequestError(f"{text!r} is not a second of a recording: write 92.5 or 1:32.5")
    return 60 * int(match[1] or 0) + float(match[2])


def _heard(recording: Recording, start_s: float, progress: Progress) -> Spectra:
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


def _solved(spectra: Spectra, asked: Asked, start_s: float, tempo: float | None) -> Solved:
    evidence = beat_evidence(spectra)
    return solve_beats(
        Curves(evidence.onsets, evidence.phases),
        beats_a_bar=asked.beats_a_bar,
        count=asked.fitting(start_s + spectra.duration_s),
        anchors=[(beat, time - start_s) for beat, time in asked.anchors],
        taps=[(beat, time - start_s) for beat, time in asked.taps],
        beat_hint_s=None if tempo is None else beat_seconds(tempo),
    )


def _mapped(
    path: Path, metre: str, heard: tuple[Spectra, float], asked: Asked, solved: Solved
) -> Mapped:
    spectra, start_s = heard
    beats = tuple(
        MappedBeat(
            beat.time_s + start_s,
            asked.first_bar + number // asked.beats_a_bar,
            1 + number % asked.beats_a_bar,
            beat.uncertainty_s,
        )
        for number, beat in enumerate(solved.beats)
    )
    begun, ended = active_span(spectra)
    return Mapped(
        recording=path.name,
        duration_s=start_s + spectra.duration_s,
        metre=metre,
        beat_map=BeatMap(beats),
        unsure_bars=tuple(asked.first_bar + bar for bar in solved.unsure_bars),
        bias_s=solved.bias_s,
        music_s=(begun + start_s, ended + start_s),
    )


def _written(recording: Recording, mapped: Mapped, wish: MapWish, peak: float) -> tuple[Path, ...]:
    if wish.output is not None:
        comment = f"{mapped.recording}, {mapped.metre}: seconds, bar.beat, standard error in s"
        save_beat_map(wish.output, mapped.beat_map, comment=comment)
    if wish.listen is not None:
        write_with_clicks(recording, mapped.beat_map, wish.listen, peak=peak)
    return tuple(goal for goal in (wish.output, wish.listen) if goal is not None)
