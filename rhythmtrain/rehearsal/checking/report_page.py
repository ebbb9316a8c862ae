"""The report page of a take: the picture, and for every bar of which something is said its sound.

A clip is the bar of the take, a breath of silence, then the bar as written at the tempo played.
A take that is only a list of times is made audible with claps.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

import numpy as np

from rhythmtrain.assess.findings import NoteFinding, Verdict
from rhythmtrain.prompts.plan import Layer, Plan, Prompt
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.prompts.wishes import Wishes
from rhythmtrain.rehearsal.checking.checked import Checked
from rhythmtrain.rehearsal.told import Progress, quietly
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.render.mixer import MONO
from rhythmtrain.render.track import track_blocks
from rhythmtrain.report.take.page import Section, check_page
from rhythmtrain.report.take.picture import timing_picture
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.storage.clips import Sound, mp3_bytes, pieces
from rhythmtrain.storage.recordings import open_recording
from rhythmtrain.storage.safely import check_place, write_bytes_safely
from rhythmtrain.timing.timeline import Practice, lay_out
from rhythmtrain.units import Seconds

RATE = 44_100
MOST_CLIPS = 40
BEFORE_S, AFTER_S = 0.15, 0.1
BREATH_S = 0.6
LONGEST_CLIP_S = 30.0
CLIP_PEAK = 0.5
FADE_S = 0.02


def write_page(
    takes: Sequence[tuple[Checked, Path]],
    output: Path,
    *,
    title: str,
    words: Callable[[str], str] = as_typed,
    progress: Progress = quietly,
) -> None:
    """Write the report page of ``takes``, each with the file it was heard in, to ``output``.

    ``words`` are those of ``check_page``, the command line's where nothing else is said.

    Raises:
        FileError: the page cannot be written.
    """
    check_place(output)
    sections = []
    for number, (checked, path) in enumerate(takes):
        progress(number, len(takes), f"writing {output.name}")
        sections.append(section(checked, path))
    write_bytes_safely(output, check_page(sections, title=title, words=words).encode("utf-8"))


def section(checked: Checked, path: Path) -> Section:
    """Return the part of a page that tells of one take; another piece is not drawn."""
    known = checked.findings.looks_like is not False
    at_tempo = replace(checked.timeline.practice, speed=checked.findings.speed)
    timeline = lay_out(checked.timeline.passage, at_tempo)
    checked = replace(checked, timeline=timeline)
    return Section(
        heard=checked.heard,
        said=checked.said,
        take=path.name,
        picture=timing_picture(checked.heard, timeline) if known else "",
        clips=_clips(checked, path) if known else {},
    )


def _clips(checked: Checked, path: Path) -> dict[int, bytes]:
    chosen = _bars_to_hear(checked)
    spans = [_span(checked, note) for note in chosen]
    if checked.take.source == "audio":
        played = pieces(open_recording(path), spans, rate=RATE)
    else:
        played = [_clapped(checked, span) for span in spans]
    return {
        note.bar: mp3_bytes(_joined(sound, _as_written(checked, note)), RATE)
        for note, sound in zip(chosen, played, strict=True)
    }


def _bars_to_hear(checked: Checked) -> list[NoteFinding]:
    """Return for each bar of which something is said a note of it, where it first went so."""
    findings = checked.findings
    spoken_of = {flag.bar for flag in checked.heard.flags}
    spoken_of |= {mistake.bar for mistake in findings.mistakes}
    spoken_of |= {entry.bar for entry in findings.entries} | {each.bar for each in findings.extras}
    chosen: dict[int, NoteFinding] = {}
    for note in sorted(findings.notes, key=lambda note: not note.plain):
        if note.bar in spoken_of and note.verdict is not Verdict.NOT_CHECKED:
            chosen.setdefault(note.bar, note)
    return [chosen[bar] for bar in sorted(chosen)][:MOST_CLIPS]


def _span(checked: Checked, chosen: NoteFinding) -> tuple[float, float]:
    """Return the seconds of the take that hold the bar of ``chosen``, with all its notes.

    Where the bar lies is told by where its note was expected, so it is right also after a stop.
    """
    timeline = checked.timeline
    place = timeline.notes[chosen.note].place
    bar = timeline.bars[place]
    opening = chosen.expected_s - timeline.seconds(timeline.notes[chosen.note].at)
    played = [
        note.played_s
        for note in checked.findings.notes
        if timeline.notes[note.note].place == place and note.played_s is not None
    ]
    start = min([opening + timeline.seconds(bar.start), *played]) - BEFORE_S
    stop = max([opening + timeline.seconds(bar.stop), *played]) + AFTER_S
    return start, min(stop, start + LONGEST_CLIP_S)


def _clapped(checked: Checked, span: tuple[float, float]) -> Sound:
    start, stop = span
    claps = tuple(
        Prompt(Seconds(time - start), Layer.CLAP, "note", 0, "", 1)
        for time in checked.take.times_s
        if start <= time < stop
    )
    plan = Plan("", "", Seconds(0.0), Seconds(stop - start), claps, ((0.0, 60.0),), ((0.0, 4, 4),))
    return _sounded(plan)


def _as_written(checked: Checked, note: NoteFinding) -> Sound:
    passage = checked.timeline.passage
    bar = excerpt(passage, note.bar, note.bar)
    pitched = any(place.pitches for each in bar.bars for place in each.places)
    layers = frozenset({Layer.CLICK, Layer.TUNE if pitched else Layer.CLAP})
    return _sounded(
        plan_track(lay_out(bar, Practice(speed=checked.findings.speed)), Wishes(layers=layers))
    )


def _sounded(plan: Plan) -> Sound:
    blocks = [block[:, 0] for block in track_blocks(plan, {}, RATE, channels=MONO)]
    return np.concatenate(blocks).astype(np.float32)


def _joined(played: Sound, written: Sound) -> Sound:
    breath = np.zeros(round(BREATH_S * RATE), np.float32)
    return np.concatenate([_levelled(played), breath, _levelled(written)])


def _levelled(sound: Sound) -> Sound:
    peak = float(np.abs(sound).max(initial=0.0))
    levelled = sound * (CLIP_PEAK / peak) if peak else sound.copy()
    fade = min(round(FADE_S * RATE), len(levelled))
    levelled[:fade] *= np.linspace(0, 1, fade, dtype=np.float32)
    levelled[len(levelled) - fade :] *= np.linspace(1, 0, fade, dtype=np.float32)
    return levelled.astype(np.float32)
