"""The cue made audible: the bars before the entry again and again, its notes, the entry clapped.

With a recorded accompaniment these bars of it are looped, slowed if asked for, and every note of the
cue is ticked on its mapped place.  Without one the notes of the cue sound themselves.
"""

from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil
from pathlib import Path

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer, Plan, Prompt
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.passages.passages import Wish, practice_of
from rhythmtrain.rehearsal.recorded.accompaniment import RecordingFiles
from rhythmtrain.rehearsal.tracks.recordings import accompanied, laid_pieces, played, with_bars
from rhythmtrain.rehearsal.tracks.sound import MIDI_ENDINGS, RATE, write_track
from rhythmtrain.render.recorded import Played
from rhythmtrain.render.track_recorded import blocks_with_recordings
from rhythmtrain.report.passage.cue_text import CueFound
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.passage import bar_starts, notes_of
from rhythmtrain.storage.audio_files import write_audio
from rhythmtrain.storage.drills import load_drill
from rhythmtrain.storage.scores import is_score
from rhythmtrain.timing.timeline import Timeline, lay_out
from rhythmtrain.units import Seconds


@dataclass(frozen=True, slots=True)
class Looped:
    """How the cue is laid out: the entry's bar after so many bars, and the recording under it."""

    timeline: Timeline
    pieces: tuple[Played, ...] = ()


def has_recording(name: str, files: RecordingFiles) -> bool:
    """Tell whether there is a recorded accompaniment of the passage called ``name``."""
    if files.recording is not None:
        return True
    if is_score(name):
        return False
    named = load_drill(name).accompaniment
    return named is not None and named.recording is not None


def write_cue(
    wish: Wish, found: CueFound, begin: Fraction, output: Path, files: RecordingFiles
) -> None:
    """Write the bars from ``begin`` to the end of the entry's bar, looped, to ``output``.

    Raises:
        RequestError: no beat map of the recording, options out of range, an unknown ending.
        FileError, TakeError: a file does not read or cannot be written.
    """
    looped = _looped(wish, found, begin, files)
    plan = _planned(found, looped)
    if not looped.pieces:
        write_track(plan, output)
        return
    if output.suffix.lower() in MIDI_ENDINGS:
        raise RequestError(
            f"{output.name} cannot hold the recording: write .wav, .flac, .ogg or .mp3"
        )
    blocks = blocks_with_recordings(plan, looped.pieces, rate=RATE)
    write_audio(output, blocks, RATE, title=plan.title, comment=plan.tempo_words)


def _looped(wish: Wish, found: CueFound, begin: Fraction, files: RecordingFiles) -> Looped:
    passage, entry = found.passage, found.entry
    only = excerpt(passage, entry.bar, entry.bar)
    length = passage.bars[_index(found)].metre.length
    before = ceil((_nominal(found) - begin) / length)
    if has_recording(wish.passage, files):
        laid = accompanied(wish, only, passage, files=files, lead_in=before)
        pieces = laid_pieces(laid.timeline, laid.found.mapped, Layer.ACCOMPANIMENT)
        return Looped(laid.timeline, played(pieces, laid.found.recording, rate=RATE))
    practice = replace(practice_of(wish, only), count_in=before, between=before)
    return Looped(lay_out(only, practice))


def _planned(found: CueFound, looped: Looped) -> Plan:
    """Return the plan: the notes of the cue, the entry clapped, and the recording."""
    timeline = looped.timeline
    plan = plan_track(timeline, Wishes(layers=frozenset({Layer.CLAP})))
    nominal = _nominal(found)
    prompts: list[Prompt] = []
    for bar in timeline.bars:
        if bar.index != 0:
            continue
        later = bar.nominal - nominal
        for note in found.notes:
            start, stop = (
                timeline.track_seconds(at + later) for at in (note.at, note.at + note.length)
            )
            if start < 0:
                continue
            cue = Prompt(start, Layer.CUE, "note", note.bar, note.count, bar.run)
            if not looped.pieces:
                cue = replace(cue, length_s=stop - start, pitches=note.pitches)
            prompts.append(cue)
        at = Seconds(timeline.track_seconds(found.at + later))
        clap = Prompt(at, Layer.CLAP, "note", found.entry.bar, found.entry.count, bar.run)
        prompts.append(clap)
    plan = replace(plan, prompts=tuple(sorted(prompts, key=lambda each: each.time_s)))
    return with_bars(plan, tuple(each.laid for each in looped.pieces), timeline)


def _index(found: CueFound) -> int:
    return notes_of(found.passage.bars)[found.entry.note].index


def _nominal(found: CueFound) -> Fraction:
    """Return the quarter of beat 1 of the entry's bar."""
    index = _index(found)
    return bar_starts(found.passage.bars)[index] - found.passage.bars[index].begins
