"""A drill that names a score: what the drill says, laid over the passage that the score gives.

The drill keeps a reference and not a copy, so the score may be corrected and the drill follows.  So that
nobody practises something else unawares, a drill may say ``seen``: eight letters and digits that
stand for the music as it was when the drill was written (a checksum, CRC-32, over bars, places and
pitches; looks, words and tempi do not count).
"""

from collections.abc import Iterator
from dataclasses import replace
from zlib import crc32

from rhythmtrain.score.drill.drill import Drill
from rhythmtrain.score.drill.places import check_meetings, checked_mark
from rhythmtrain.score.passage import Bar, Kind, Passage, Place
from rhythmtrain.units import Bpm


def with_drill(passage: Passage, drill: Drill) -> Passage:
    """Return ``passage``, the bars that ``drill`` names, with the drill's title, tempo, beat and entries.

    Raises:
        DrillError: a beat that does not fit, or an entry or a place to meet that is not there.
    """
    bars = passage.bars
    if drill.beat is not None:
        asked = replace(bars[0].metre, beat=drill.beat).beat
        bars = tuple(replace(bar, metre=bar.metre.with_beat(asked)) for bar in bars)
    passage = replace(passage, title=drill.title, about=drill.about, bars=bars)
    if drill.tempo is not None:
        passage = _at_tempo(passage, drill.tempo)
    marks = tuple(checked_mark(mark, bars) for mark in drill.marks)
    check_meetings(drill.accompaniment.meet if drill.accompaniment is not None else (), bars)
    return replace(passage, marks=marks)


def music_seen(passage: Passage) -> str:
    """Return the eight letters and digits that stand for the music of ``passage``."""
    told = "\n".join(_told(passage.bars))
    return f"{crc32(told.encode('ascii')):08x}"


def _told(bars: tuple[Bar, ...]) -> Iterator[str]:
    """Yield the bars, where notes begin, and where sound ends; not which other places are counted."""
    sounding = False
    for bar in bars:
        groups = "+".join(map(str, bar.metre.groups))
        yield f"{bar.number} {groups}/{bar.metre.unit} {bar.begins} {bar.ends} {bar.opens:d}"
        yield f"{bar.times} {bar.ending}"
        for place in bar.places or (Place(bar.begins, Kind.SILENT),):
            played = place.kind is Kind.PLAYED
            if played or (sounding and place.kind is Kind.SILENT):
                yield f"{place.at} {place.kind} {','.join(map(str, place.pitches))}"
                sounding = played


def _at_tempo(passage: Passage, tempo: Bpm) -> Passage:
    """Return ``passage`` beginning at ``tempo``; tempi in it change by the same share."""
    share = tempo / passage.tempo
    return replace(passage, tempo=tempo, bars=tuple(_by(bar, share) for bar in passage.bars))


def _by(bar: Bar, share: float) -> Bar:
    if bar.tempo is None:
        return bar
    to = None if bar.tempo.to is None else Bpm(bar.tempo.to * share)
    return replace(bar, tempo=replace(bar.tempo, bpm=Bpm(bar.tempo.bpm * share), to=to))
