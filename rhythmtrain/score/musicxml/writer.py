"""A passage as a MusicXML 4.0 score: the rhythm as one part, the accompanist's cue as another.

What MusicXML has no signs for is lost and said by ``unwritten``: which silent and held places are
counted aloud, how one counts (the drill's ``beat``), and the entries marked in a drill.
"""

from collections.abc import Iterator, Sequence
from dataclasses import replace
from math import fmod, lcm

from rhythmtrain.score.musicxml.written_bars import (
    Piece,
    clef_of,
    measures,
)
from rhythmtrain.score.musicxml.written_notes import Pen
from rhythmtrain.score.musicxml.xml_text import element, words
from rhythmtrain.score.notation.notation import NotatedBar, notated
from rhythmtrain.score.passage import Bar, Passage, TempoMark
from rhythmtrain.score.pitches import spelling_of
from rhythmtrain.score.repeats import ending_numbers
from rhythmtrain.score.tempo import speeds

HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="no"?>\n'
RHYTHM, CUE = "Rhythm", "Cue"
PERCUSSION_CHANNEL, HAND_CLAP = 10, 40  # as MusicXML numbers them, from 1
SECOND_TIME = 2
OCTAVE, STEPS = 12, 7


def write_musicxml(passage: Passage) -> str:
    """Return ``passage`` as the text of a MusicXML file."""
    parts = [(RHYTHM, passage.bars), *([(CUE, passage.cue)] if passage.cue else [])]
    signs = [notated(bars) for _, bars in parts]
    pen = Pen(_divisions(signs))
    listed = [_listed(at, name, bars) for at, (name, bars) in enumerate(parts, start=1)]
    written = [_part(passage, bars, pen, number=at) for at, bars in enumerate(signs, start=1)]
    title = element("work", element("work-title", words(passage.title))) if passage.title else ""
    encoder = element("encoding", element("software", "rhythmtrain"))
    score = element(
        "score-partwise",
        title,
        element("identification", encoder),
        element("part-list", *listed),
        *written,
        version="4.0",
    )
    return HEAD + score.replace("<measure ", "\n<measure ").replace("<note>", "\n<note>") + "\n"


def unwritten(passage: Passage) -> Iterator[str]:
    """Yield a sentence for each thing that a MusicXML file of ``passage`` does not hold."""
    metres = {bar.metre for bar in passage.bars}
    beats = sorted(
        metre.beat
        for metre in metres
        if metre.beat is not None and metre.beats != metre.with_beat(None).beats
    )
    if beats:
        yield f'MusicXML does not say what gets a count: beat = "{beats[0]}" is left out'
    if passage.marks:
        yield "MusicXML has no sign for the entries that the drill marks: they are left out"
    if any(bar.tempo is not None and bar.tempo.to is not None for bar in passage.bars):
        yield "a gradual change of tempo is written in words, and as the mean tempo of each bar"


def _divisions(parts: Sequence[Sequence[NotatedBar]]) -> int:
    lengths = [bar.bar.length for bars in parts for bar in bars]
    lengths += [sign.length for bars in parts for bar in bars for sign in bar.signs]
    return lcm(*(length.denominator for length in lengths))


def _listed(number: int, name: str, bars: tuple[Bar, ...]) -> str:
    """Return what the list of parts says of one; without pitches it is clapped."""
    sound = f"P{number}-I1"
    clapped = "" if _pitches(bars) else (
        element("score-instrument", element("instrument-name", "Hand Clap"), id=sound)
        + element(
            "midi-instrument",
            element("midi-channel", PERCUSSION_CHANNEL),
            element("midi-unpitched", HAND_CLAP),
            id=sound,
        )
    )  # fmt: skip
    return element("score-part", element("part-name", name), clapped, id=f"P{number}")


def _pitches(bars: Sequence[Bar]) -> list[int]:
    return [pitch for bar in bars for place in bar.places for pitch in place.pitches]


def _part(passage: Passage, bars: tuple[NotatedBar, ...], pen: Pen, *, number: int) -> str:
    pitches = _pitches([bar.bar for bar in bars])
    up = passage.written_up if number == 1 else 0
    clef, middle = clef_of([pitch + up for pitch in pitches])
    own = replace(pen, unpitched=middle, spelling=spelling_of(pitches, up=up))
    pieces = list(_pieces(passage, bars, told=number == 1))
    written = measures(pieces, own, staff=clef + _transposition(up))
    return element("part", *written, id=f"P{number}")


def _transposition(up: int) -> str:
    """Return what ``attributes`` say of a part that is written ``up`` semitones above what sounds."""
    if not up:
        return ""
    octaves, semitones = int(-up / OCTAVE), int(fmod(-up, OCTAVE))
    return element(
        "transpose",
        element("diatonic", round(semitones * STEPS / OCTAVE)),
        element("chromatic", semitones),
        element("octave-change", octaves) if octaves else "",
    )


def _pieces(passage: Passage, bars: tuple[NotatedBar, ...], *, told: bool) -> Iterator[Piece]:
    """Yield the bars as they are to be written; tempo and signs are the rhythm's, ``told`` once."""
    told_speed: float | None = None
    times = ending_numbers(passage.bars)
    ringing = _ringing(passage.bars, bars)
    under = ""
    for at, (bar, (begun, ended)) in enumerate(zip(bars, speeds(passage), strict=True)):
        signs = passage.bars[at]
        speed, mark = (begun + ended) / 2, _mark(passage, at)
        new = told and (speed != told_speed or mark is not None)
        following = passage.bars[at + 1] if at + 1 < len(bars) else None
        under = times.get(at, under)
        ends = _ends(signs, under)
        shown = replace(
            bar.bar,
            opens=signs.opens,
            times=signs.times,
            landmarks=signs.landmarks if told else (),
        )
        yield Piece(
            replace(_tied_on(bar) if at in ringing else bar, bar=shown),
            speed=speed if new else None,
            mark=mark if told else None,
            fermata=following is not None and following.pause,
            tied_from=_tied_from(passage.bars, bars, at),
            ending=times.get(at, ""),
            under=under,
            ends=ends,
        )
        told_speed = speed
        under = "" if ends else under


def _mark(passage: Passage, at: int) -> TempoMark | None:
    mark = passage.bars[at].tempo
    return TempoMark(passage.tempo) if mark is None and not at else mark


def _ends(bar: Bar, under: str) -> str:
    """Return how the ending stops with ``bar`` that it is ``under``, or nothing where it goes on."""
    if bar.times and under:
        return "stop"
    return "discontinue" if bar.ending == SECOND_TIME else ""


def _tied_from(bars: Sequence[Bar], signs: Sequence[NotatedBar], at: int) -> bool:
    """Return whether a note goes on into bar ``at``, from the bar before or before a repeat."""
    if not at:
        return False
    before = signs[at - 1].signs
    resumed = bars[at].ending == SECOND_TIME
    return bool(before and before[-1].tied) or resumed


def _ringing(bars: Sequence[Bar], signs: Sequence[NotatedBar]) -> set[int]:
    """Return the bars whose last note goes on into a second time, past the first time."""
    firsts = [at for at, bar in enumerate(bars) if bar.ending == 1]
    return {
        max(at for at in firsts if at < second) - 1
        for second, bar in enumerate(bars)
        if bar.ending == SECOND_TIME and _goes_on_into(signs[second]) and firsts
    }


def _goes_on_into(bar: NotatedBar) -> bool:
    return bool(bar.signs) and not (bar.signs[0].begins or bar.signs[0].rest)


def _tied_on(bar: NotatedBar) -> NotatedBar:
    """Return ``bar`` with a tie from its last note, wherever it leads."""
    if not bar.signs or bar.signs[-1].rest:
        return bar
    return replace(bar, signs=(*bar.signs[:-1], replace(bar.signs[-1], tied=True)))
