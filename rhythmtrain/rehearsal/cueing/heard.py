"""The cue as it is heard in the recording, where nobody has written it down: both hands together.

Every half and quarter of a beat (third and sixth of a compound one) has its second in the beat map, and
is asked for a stroke.  Pitches are not told.  A note lasts until the next.
"""

from collections.abc import Iterator, Sequence
from fractions import Fraction

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.hearing.recording.spectra import SpectraFinder
from rhythmtrain.hearing.recording.struck import Struck, struck_at
from rhythmtrain.rehearsal.recorded.accompaniment import (
    MappedRecording,
    RecordingFiles,
    accompaniment_for,
)
from rhythmtrain.remedies import remedy
from rhythmtrain.report.words import several
from rhythmtrain.score.entries import Entry
from rhythmtrain.score.excerpt import excerpt
from rhythmtrain.score.passage import Bar, Passage, bar_starts, notes_of
from rhythmtrain.storage.recorded_sound import sound_between
from rhythmtrain.storage.recordings import one_channel

# At this rate the strokes were measured.
RATE = 22_050
AROUND_S = 1.0
PARTS_SIMPLE, PARTS_COMPOUND = 4, 6
BARS_COMPARED = 2
# Beats whose times are less sure than this share of the step between two places: only halves are told.
SURE = 0.25

Lengths = tuple[tuple[Fraction, Fraction], ...]


def heard_cue(
    name: str, passage: Passage, entry: Entry, begin: Fraction, files: RecordingFiles
) -> tuple[Lengths, str]:
    """Return (onset, length) of what is struck from ``begin`` to the entry; a sentence on the doubt.

    Raises:
        RequestError: no recording, or no beat map of these bars.
        FileError, TakeError: a file does not read, or is silent there.
    """
    note = notes_of(passage.bars)[entry.note]
    only = excerpt(passage, entry.bar, entry.bar)
    found = accompaniment_for(name, only, whole=passage, files=files)
    bar = passage.bars[note.index]
    zero = bar_starts(passage.bars)[note.index] + (bar.length if bar.begins else 0)
    before = begin - BARS_COMPARED * bar.metre.length
    coarse = coarse_at(found, note.at - zero)
    places = [
        at
        for at in _places(passage, before, note.at, coarse=coarse)
        if found.mapped.covers(at - zero)
    ]
    if not any(at >= begin for at in places):
        raise RequestError(
            f"the beat map of {found.recording.path.name} begins after the bars before bar "
            f"{entry.bar}: map those too {remedy('map')}"
        )
    answer = struck_in(found, [found.mapped.second(at - zero) for at in places])
    rows = list(zip(places, answer.struck, answer.unsure, strict=True))
    struck = [at for at, is_struck, _ in rows if is_struck and at >= begin]
    unsure = sum(doubtful for at, _, doubtful in rows if at >= begin)
    ends = [*struck[1:], note.at]
    lengths = tuple((at, end - at) for at, end in zip(struck, ends, strict=True))
    return lengths, _doubt(unsure, coarse=coarse)


def struck_in(found: MappedRecording, seconds: Sequence[float]) -> Struck:
    """Return at which of ``seconds`` of the recording something is struck.

    Raises:
        FileError, TakeError: the recording does not read, or is silent there.
    """
    first, last = max(min(seconds) - AROUND_S, 0.0), max(seconds) + AROUND_S
    finder = SpectraFinder(RATE)
    for block in sound_between(found.recording, first, last, rate=RATE):
        finder.feed(one_channel(block))
    try:
        spectra = finder.finish()
    except TakeError:
        raise TakeError(
            f"{found.recording.path.name} is silent from {first:.1f} to {last:.1f} s, where the cue "
            "would be: is it the right recording?"
        ) from None
    return struck_at(spectra, [second - first for second in seconds])


def parts_of(bar: Bar, *, coarse: bool) -> Iterator[Fraction]:
    """Yield the places of ``bar`` that are asked, in quarters from its beat 1."""
    for beat in bar.metre.beats:
        parts = PARTS_COMPOUND if beat.compound else PARTS_SIMPLE
        parts = parts // 2 if coarse else parts
        for part in range(parts):
            inside = beat.start + beat.length * part / parts
            if bar.begins <= inside < bar.ends:
                yield inside


def _doubt(unsure: int, *, coarse: bool) -> str:
    soft = f"{several(unsure, 'place')} may be wrong, and " if unsure else ""
    finest = "half (the map is no surer)" if coarse else "quarter"
    return (
        f"this was heard and not read: {soft}nothing finer than a {finest} of a beat is told; the "
        f"accompanist's notes{remedy('by', 'notes')} are surer"
    )


def coarse_at(found: MappedRecording, at: Fraction) -> bool:
    """Tell whether the map is too unsure near recorded quarter ``at`` for quarters of a beat."""
    mapped = found.mapped
    quarter_s = (mapped.second(at) - mapped.second(at - 1)) / PARTS_SIMPLE
    return mapped.uncertainty_s(at) > SURE * quarter_s


def _places(
    passage: Passage, begin: Fraction, end: Fraction, *, coarse: bool
) -> Iterator[Fraction]:
    """Yield the beats and their parts from ``begin`` until before ``end``, before bar 1 too."""
    for start, bar in _bars(passage, begin):
        for inside in parts_of(bar, coarse=coarse):
            if begin <= start + inside < end:
                yield start + inside


def _bars(passage: Passage, begin: Fraction) -> Iterator[tuple[Fraction, Bar]]:
    """Yield where beat 1 of each bar lies, with bars like the first before the passage."""
    starts = bar_starts(passage.bars)
    opening = passage.bars[0]
    metre = opening.metre
    first = starts[0] - opening.begins
    back = max(-((begin - first) // metre.length), 0)
    for number in range(int(back), 0, -1):
        whole = Bar(opening.number - number, metre, (), Fraction(0), metre.length)
        yield first - number * metre.length, whole
    if opening.begins:
        yield first, Bar(opening.number, metre, (), Fraction(0), opening.begins)
    for start, bar in zip(starts, passage.bars, strict=True):
        yield start - bar.begins, bar
