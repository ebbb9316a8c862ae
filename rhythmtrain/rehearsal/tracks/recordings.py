"""Recordings in a track: the accompaniment the passage is played with, the teacher's own playing.

The accompaniment gives the track its tempo: its bars before the passage are the count-in, click and
count fall on its mapped beats.  The model is slowed to whatever tempo the track has.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import partial

import numpy as np

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.prompts.plan import Laid, Layer, Plan
from rhythmtrain.prompts.spots import prompt_at, spot_at
from rhythmtrain.rehearsal.passages.passages import Wish
from rhythmtrain.rehearsal.recorded.accompaniment import (
    NO_FILES,
    MappedRecording,
    RecordingFiles,
    accompaniment_for,
)
from rhythmtrain.remedies import option
from rhythmtrain.render.loudness_gated import gated_loudness
from rhythmtrain.render.recorded import Played, Source, with_live_channel
from rhythmtrain.score.passage import Passage
from rhythmtrain.score.tempo import beats_a_minute
from rhythmtrain.storage.recorded_sound import sound_between
from rhythmtrain.storage.recordings import Recording
from rhythmtrain.timing.beside_recording import on_recording, placed_bars
from rhythmtrain.timing.recorded_bars import MappedPassage
from rhythmtrain.timing.tempomap import steady
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from rhythmtrain.units import checked_tempo

ACCOMPANIMENT_LUFS = -23.0
LOUDEST_GAIN = 30.0
SLOWEST, FASTEST = 0.3, 1.5
MOST_LEAD_IN_BARS = 999
ROUNDING_S = 1e-6

Heard = Callable[[int], bool]


@dataclass(frozen=True, slots=True)
class Accompanied:
    """A timeline laid on its accompaniment, and the recording."""

    timeline: Timeline
    found: MappedRecording


def accompanied(
    wish: Wish,
    passage: Passage,
    whole: Passage,
    *,
    files: RecordingFiles = NO_FILES,
    even: bool = False,
    lead_in: int = 2,
) -> Accompanied:
    """Return ``passage``, which is (part of) ``whole``, laid on its recorded accompaniment.

    Each repeat begins ``lead_in`` bars before the passage.  ``even`` gives every beat the length
    of the mean one.

    Raises:
        RequestError: no recording or no map, a speed out of range, or echo.
        FileError, TakeError: a file is missing or does not read.
    """
    lead_in = checked_lead_in(lead_in)
    found = accompaniment_for(wish.passage, passage, whole=whole, files=files)
    mean = mean_quarters_a_minute(passage, found.mapped)
    practice = Practice(_speed(wish, passage, mean), wish.repeats, lead_in, wish.echo, lead_in)
    timeline = on_recording(lay_out(passage, practice), found.mapped)
    if even:
        timeline = replace(timeline, tempo=steady(mean * practice.speed))
    return Accompanied(replace(timeline, passage=_as_recorded(passage, mean)), found)


def checked_lead_in(bars: int) -> int:
    """Return how many bars of the recording lead in to each repeat; RequestError where none could."""
    if not 0 <= bars <= MOST_LEAD_IN_BARS:
        raise RequestError(f"lead-in must be 0 to {MOST_LEAD_IN_BARS} bars, got {bars}")
    return bars


def _as_recorded(passage: Passage, mean: float) -> Passage:
    """Return ``passage`` with the recording's mean tempo in place of what is written."""
    bars = tuple(replace(bar, tempo=None) for bar in passage.bars)
    return replace(passage, bars=bars, tempo=beats_a_minute(mean, passage.metre))


def mean_quarters_a_minute(passage: Passage, mapped: MappedPassage) -> float:
    """Return the mean tempo at which the recording plays ``passage``."""
    begin, end = mapped.starts[0], mapped.starts[-1] + passage.bars[-1].length
    return 60 * float(end - begin) / (mapped.second(end) - mapped.second(begin))


def _speed(wish: Wish, passage: Passage, mean: float) -> float:
    if wish.speed is not None and wish.tempo is not None:
        raise RequestError(f"give {option('speed')} or {option('tempo')}, not both")
    speed = 1.0 if wish.speed is None else wish.speed
    if wish.tempo is not None:
        speed = checked_tempo(wish.tempo) * float(passage.metre.tempo_value) / mean
    if not SLOWEST <= speed <= FASTEST:
        raise RequestError(
            f"a recording can be played {SLOWEST:g} to {FASTEST:g} times as fast as it was "
            f"recorded, got {speed:.2f}"
        )
    return speed


def everywhere(_place: int) -> bool:
    """Return True: the recording sounds in every bar."""
    return True


def laid_pieces(
    timeline: Timeline, mapped: MappedPassage, layer: Layer, heard: Heard = everywhere
) -> tuple[Laid, ...]:
    """Return where the recording lies in the track of ``timeline``, through every mapped beat.

    ``heard`` tells of the index of a bar whether the recording sounds in it.
    """
    rows: list[tuple[Fraction, Fraction, Fraction]] = []
    for place, (bar, later) in enumerate(placed_bars(timeline, mapped)):
        if later is None or not heard(place):
            continue
        if rows and rows[-1][1:] == (bar.start, later):
            rows[-1] = (rows[-1][0], bar.stop, later)
        else:
            rows.append((bar.start, bar.stop, later))
    return tuple(_laid(timeline, mapped, layer, row) for row in rows)


def _laid(
    timeline: Timeline, mapped: MappedPassage, layer: Layer, row: tuple[Fraction, ...]
) -> Laid:
    start, stop, later = row
    begin, end = start - later, stop - later
    places = [begin, *(at for at in mapped.quarters if begin < at < end), end]
    anchors = tuple((mapped.second(at), float(timeline.track_seconds(at + later))) for at in places)
    return Laid(layer, anchors, rings=end > mapped.quarters[-1])


def played(
    pieces: tuple[Laid, ...], recording: Recording, *, rate: int, lufs: float = ACCOMPANIMENT_LUFS
) -> tuple[Played, ...]:
    """Return ``pieces`` of ``recording`` ready to sound at ``lufs``.

    Raises:
        TakeError: the recording is silent there.
    """
    if not pieces:
        return ()
    first = min(piece.anchors[0][0] for piece in pieces)
    last = max(piece.anchors[-1][0] for piece in pieces)
    source: Source = partial(sound_between, recording, rate=rate)
    source = with_live_channel(source, max(first, 0.0), last)
    loud = gated_loudness(source(max(first, 0.0), last), rate)
    if not np.isfinite(loud):
        raise TakeError(
            f"{recording.path.name} is silent from {first:.1f} to {last:.1f} s, where the passage "
            "is: is it the right recording?"
        )
    gain = min(10 ** ((lufs - loud) / 20), LOUDEST_GAIN)
    return tuple(Played(piece, source, gain) for piece in pieces)


def with_bars(plan: Plan, pieces: tuple[Laid, ...], timeline: Timeline) -> Plan:
    """Return ``plan`` with ``pieces``, and an event "bar" where each of their bars begins."""
    spans = [(each.layer, each.anchors[0][1], each.anchors[-1][1]) for each in pieces]
    events = [
        prompt_at(timeline, spot_at(timeline, bar.start), layer, "bar")
        for bar in timeline.bars
        for layer, low, high in spans
        if low - ROUNDING_S <= timeline.track_seconds(bar.start) < high - ROUNDING_S
    ]
    prompts = sorted((*plan.prompts, *events), key=lambda each: each.time_s)
    return replace(plan, prompts=tuple(prompts), laid=(*plan.laid, *pieces))
