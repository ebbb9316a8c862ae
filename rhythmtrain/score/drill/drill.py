"""The drill file: a passage and how to practise it, in TOML.

A drill holds a ``rhythm`` (and ``metre``, ``tempo``, perhaps ``beat``, ``cue`` and ``tune``), or names a
``score`` with ``part``, ``bars`` and ``cue_part`` (``from_score`` says how the two go together).  ``[[entry]]`` names entries to practise, ``[accompaniment]`` the
recording and where tune and piano must meet, ``[model]`` the teacher's own playing.  Paths stay in
the drill's folder.  ``keys`` has the tables of keys and the checks of their values.

``tune`` gives the notes of the rhythm their sounding pitches in written order, so that they can be
heard: ``D5 F#5 A5 | - D5+A4``.  ``-`` is a note without a pitch, ``+`` joins pitches that sound together; where
there are bar lines, each part must have as many pitches as the next bar with notes has notes.

An entry's ``prepare`` is how many beats before it a word is said, and ``say`` which: "ready" (the
default), "breathe" or "bow".
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from fractions import Fraction
from pathlib import PurePosixPath

from rhythmtrain.errors import DrillError, RequestError
from rhythmtrain.score.countline.countline import read_rhythm
from rhythmtrain.score.countline.cue import read_cue
from rhythmtrain.score.countline.laying import Hint
from rhythmtrain.score.drill.beside import (
    SCORE_KEYS,
    Accompaniment,
    Model,
    ScoreReference,
    read_accompaniment,
    read_model,
    read_score,
)
from rhythmtrain.score.drill.keys import DRILL_KEYS, ENTRY_KEYS, Section
from rhythmtrain.score.drill.places import check_meetings, checked_mark
from rhythmtrain.score.drill.text import DrillText
from rhythmtrain.score.drill.tune import with_tune
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, EntryMark, Passage
from rhythmtrain.units import Bpm, checked_tempo

PREPARING_WORDS = ("ready", "breathe", "bow")
MOST_BEATS_AHEAD = 64


@dataclass(frozen=True, slots=True)
class Drill:
    """What a drill file says.

    Either ``passage`` or ``score`` is there.  With a score, ``tempo``, ``beat`` and ``marks`` are what the
    drill says beside it; with a passage they are in the passage already.
    """

    name: str
    title: str
    about: str = ""
    passage: Passage | None = None
    score: ScoreReference | None = None
    tempo: Bpm | None = None
    beat: str | None = None
    marks: tuple[EntryMark, ...] = ()
    accompaniment: Accompaniment | None = None
    model: Model | None = None
    hints: tuple[Hint, ...] = ()


def read_drill(text: str, *, name: str) -> Drill:
    """Return the drill that ``text`` holds; ``name`` is its file's name, for messages.

    Raises:
        DrillError: not TOML, an unknown key, a value of the wrong kind, a rhythm that does not
            read; the message gives the file's name and line.
    """
    source = DrillText(name, text.replace("\r\n", "\n"))
    top = Section(source, "a drill", source.table(), DRILL_KEYS)
    drill = Drill(
        name,
        title=top.line("title") or PurePosixPath(name).stem,
        about=top.line("about") or "",
        tempo=_tempo(top),
        beat=top.line("beat"),
        marks=tuple(_entry(each) for each in top.sections("entry", ENTRY_KEYS)),
        accompaniment=read_accompaniment(top),
        model=read_model(top),
    )
    if "score" in top.values:
        return replace(drill, score=read_score(top))
    if stray := next((key for key in SCORE_KEYS if key in top.values), None):
        raise top.error(f"{stray} belongs to a score: add score, or leave it out", stray)
    return _with_passage(drill, top)


def _tempo(top: Section) -> Bpm | None:
    tempo = top.number("tempo")
    try:
        return None if tempo is None else checked_tempo(tempo)
    except RequestError as error:
        raise top.error(str(error), "tempo") from None


def _with_passage(drill: Drill, top: Section) -> Drill:
    rhythm, written = top.text("rhythm"), top.line("metre")
    if rhythm is None:
        raise top.error('a drill wants a rhythm (rhythm = "1 2 & | 1 2") or a score')
    if written is None:
        raise top.error('a drill wants a metre, like metre = "2/4"')
    if drill.tempo is None:
        raise top.error("a drill wants a tempo in beats a minute, like tempo = 72")
    try:
        metre = Metre.parse(written, beat=drill.beat)
    except DrillError as error:
        raise top.error(error.message, "beat" if "beat" in error.message else "metre") from None
    try:
        reading = read_rhythm(rhythm, metre)
    except DrillError as error:
        raise top.source.within("rhythm", rhythm, error) from None
    cue, cue_hints = _cue(top, reading.bars)
    bars = _tuned(top, reading.bars)
    with _told_in(top):
        marks = tuple(checked_mark(mark, bars) for mark in drill.marks)
        check_meetings(drill.accompaniment.meet if drill.accompaniment is not None else (), bars)
    passage = Passage(drill.title, drill.tempo, bars, cue, marks, drill.about)
    return replace(drill, passage=passage, marks=marks, hints=reading.hints + cue_hints)


@contextmanager
def _told_in(top: Section) -> Iterator[None]:
    """Name the drill's file in what is wrong with a place that it names."""
    try:
        yield
    except DrillError as error:
        if error.bar is None:
            raise top.error(error.message) from None
        raise DrillError(error.message, bar=error.bar, file=top.source.name) from None


def _cue(top: Section, bars: tuple[Bar, ...]) -> tuple[tuple[Bar, ...], tuple[Hint, ...]]:
    text = top.text("cue")
    if text is None:
        return (), ()
    try:
        reading = read_cue(text, bars)
    except DrillError as error:
        raise top.source.within("cue", text, error) from None
    return reading.bars, reading.hints


def _tuned(top: Section, bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    text = top.text("tune")
    if text is None:
        return bars
    try:
        return with_tune(bars, text)
    except DrillError as error:
        raise top.source.within("tune", text, error) from None


def _entry(section: Section) -> EntryMark:
    bar, count = section.whole("bar"), section.line("count")
    if bar is None or count is None:
        raise section.error('an entry wants its bar and its count: bar = 9, count = "2&"')
    prepare = section.number("prepare")
    if prepare is None:
        prepare = 1.0
    if not 0 < prepare <= MOST_BEATS_AHEAD:
        raise section.error(
            f"prepare is a number of beats before the entry, more than 0 and at most "
            f"{MOST_BEATS_AHEAD}, got {prepare:g}"
        )
    word = section.line("say") or PREPARING_WORDS[0]
    if word not in PREPARING_WORDS:
        raise section.error(f"say is one of {', '.join(PREPARING_WORDS)}, got {word[:20]!r}")
    return EntryMark(bar, count, Fraction(str(prepare)), word)


def paths_of(drill: Drill) -> Iterator[str]:
    """Yield the paths that a drill names, beside it."""
    for part in (drill.accompaniment, drill.model):
        if part is not None:
            yield from (path for path in (part.recording, part.beats) if path is not None)
    if drill.accompaniment is not None and drill.accompaniment.notes is not None:
        yield drill.accompaniment.notes
    if drill.score is not None:
        yield drill.score.score
