"""Hearing a take against its recorded accompaniment: the passage laid on the map, and how to judge.

A map of a few bars is enough: where it holds no more, only these bars are checked, and that is said.
"""

import re
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.assess.settings import Settings
from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.passages.passages import Wish, speed_of
from rhythmtrain.rehearsal.recorded.accompaniment import (
    NO_FILES,
    MappedRecording,
    RecordingFiles,
    accompaniment_for,
    mapped_bars,
)
from rhythmtrain.rehearsal.recorded.sounding import sound_doubts
from rhythmtrain.rehearsal.tracks.recordings import checked_lead_in
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.passage import Passage
from rhythmtrain.score.repeats import as_played
from rhythmtrain.timing.beside_recording import on_recording
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from rhythmtrain.units import checked_tempo


@dataclass(frozen=True, slots=True)
class BesideWish:
    """What was said of the recording that a take was played with: options as typed.

    ``freely`` says that the tune may float between the places to meet; ``meet`` names their bars.
    ``lead_in`` is how many bars of the recording sounded before each repeat.
    """

    files: RecordingFiles = NO_FILES
    freely: bool = False
    meet: str | None = None
    lead_in: int = 2


@dataclass(frozen=True, slots=True)
class Beside:
    """A take's passage laid on the recording ``found``, and how the take is to be judged there."""

    timeline: Timeline
    settings: Settings
    found: MappedRecording
    cut: tuple[int, int] | None = None


def beside_recording(
    wish: Wish, asked: BesideWish, passage: Passage, whole: Passage, *, start_s: float | None
) -> Beside:
    """Return ``passage``, which is (part of) ``whole``, laid on the recording it is played with.

    Raises:
        RequestError: no recording or no map, bars that are not mapped, options that do not fit.
        FileError, TakeError: a file is missing or does not read.
    """
    found, passage, cut = _found(wish, asked, passage, whole)
    share = _speed(wish, passage, found)
    meet = _meet(asked, found, passage)
    lead_in = checked_lead_in(asked.lead_in)
    practice = Practice(share or 1.0, wish.repeats, wish.count_in, wish.echo, lead_in)
    timeline = on_recording(lay_out(passage, practice), found.mapped)
    doubts = sound_doubts(wish.passage, asked.files)
    said = doubts if cut is None else (_only(cut), *doubts)
    settings = Settings("recording", start_s, share, remarks=said, meet=meet)
    return Beside(timeline, settings, found, cut)


def _found(
    wish: Wish, asked: BesideWish, passage: Passage, whole: Passage
) -> tuple[MappedRecording, Passage, tuple[int, int] | None]:
    """Return the recording, the bars of the passage that are mapped, and these if they are fewer."""
    name, files = wish.passage, asked.files
    low, high = mapped_bars(name, whole, files=files)
    first, last = passage.bars[0].number, passage.bars[-1].number
    cut = max(low, first), min(high, last)
    if wish.bars is not None or cut == (first, last) or cut[0] > cut[1]:
        return accompaniment_for(name, passage, whole=whole, files=files), passage, None
    part = excerpt(passage, *cut)
    return accompaniment_for(name, part, whole=whole, files=files), part, cut


def _only(bars: tuple[int, int]) -> str:
    first, last = bars
    named = f"bar {first} was" if first == last else f"bars {first} to {last} were"
    return f"only {named} checked: the beat map holds no more"


def _speed(wish: Wish, passage: Passage, found: MappedRecording) -> float | None:
    """Return the share of the recording's own speed that was played, None where it is to be found."""
    if wish.tempo is None or wish.speed is not None:
        return speed_of(wish, passage)
    return checked_tempo(wish.tempo) / recorded_tempo(passage, found)


def recorded_tempo(passage: Passage, found: MappedRecording) -> float:
    """Return the recording's own mean tempo over ``passage``, in beats a minute."""
    mapped = found.mapped
    last = passage.bars[as_played(passage.bars)[-1]]
    stop = mapped.starts[-1] + last.length
    length_s = mapped.second(stop) - mapped.second(mapped.starts[0])
    played = sum((passage.bars[index].length for index in as_played(passage.bars)), Fraction(0))
    return 60 * float(played / passage.metre.tempo_value) / length_s


def _meet(asked: BesideWish, found: MappedRecording, passage: Passage) -> tuple[int, ...] | None:
    """Return the bars to meet in, () for the usual places, None where every note is held."""
    if asked.meet is not None:
        return _bars(asked.meet, passage)
    here = {bar.number for bar in passage.bars}
    named = tuple(bar for bar in found.meet if bar in here)
    return named if named or asked.freely else None


def _bars(text: str, passage: Passage) -> tuple[int, ...]:
    if not re.fullmatch(r"\s*\d{1,5}(\s*,\s*\d{1,5})*\s*", text, re.ASCII):
        raise RequestError(f"bars to meet in are written like 1,5,9, got {text[:40]!r}")
    bars = tuple(int(number) for number in text.split(","))
    there = {bar.number for bar in passage.bars}
    strange = next((bar for bar in bars if bar not in there), None)
    if strange is not None:
        first, last = passage.bars[0].number, passage.bars[-1].number
        raise RequestError(
            f"there is no bar {strange} to meet in: the passage has bars {first} to {last}"
        )
    return bars
