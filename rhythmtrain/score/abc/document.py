"""A tune in ABC as a score: its voices, and the bars they share (ABC 2.1, sections 3 and 7).

The first tune of a file is read.  Fields stand on lines of their own or in brackets.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from fractions import Fraction

from rhythmtrain.errors import FileError
from rhythmtrain.score.abc.bar_checks import check_bars
from rhythmtrain.score.abc.decorations import LETTERS, defined
from rhythmtrain.score.abc.doubts import SHOWN, Doubts
from rhythmtrain.score.abc.fields import key_told, metre_of, speed_told, unit_of, usual_unit
from rhythmtrain.score.abc.gathered import Gathered
from rhythmtrain.score.abc.notes import Notes
from rhythmtrain.score.abc.repeats import Repeats
from rhythmtrain.score.abc.rhythm import no_rhythm
from rhythmtrain.score.abc.text import FIELD, Field, Line, first_tune
from rhythmtrain.score.abc.tokens import Token, tokens
from rhythmtrain.score.abc.voice import Voice
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.musicxml.bars import in_words, share_bars
from rhythmtrain.score.musicxml.document import LONGEST_NAME, Part, Score
from rhythmtrain.score.musicxml.measure import Measure

MOST_VOICES = 50
LINE_ENDS = "line ends"
# An order of parts, of more than one.
_ORDER = re.compile(r"(?=.*[A-Z].*[A-Z0-9])[A-Z\d().]+")
_VOICE = re.compile(r"\s*(\S+)(?:.*?\b(?:nm|name)=\"([^\"]*)\")?")


def read_abc(data: bytes, *, name: str) -> Score:
    """Return the first tune of an ABC file as a score.

    Raises:
        FileError: no ABC, too large, or something in it that cannot be read.
    """
    text = first_tune(data, name=name)
    doubts = Doubts(name)
    head = _head(text.fields, doubts)
    voices = _voices(head, text.music, doubts)
    parts = tuple(
        Part(number, voice.label, keyboard=False, measures=tuple(_numbered(voice.gathered.bars)))
        for number, voice in enumerate(voices, start=1)
    )
    if not any(part.measures for part in parts):
        raise FileError(f"{name} holds no bars of music after its K: line")
    bars, misfits = share_bars([part.measures for part in parts])
    check_bars([voice.gathered for voice in voices], bars, doubts)
    told = (*text.said, *doubts.in_words(), *in_words(misfits, [part.name for part in parts]))
    return Score(name, head.title, parts, bars, told)


@dataclass(slots=True)
class _Head:
    """What a tune's head says."""

    title: str = ""
    metre: Metre | None = None
    unit: Fraction | None = None
    speed: Field | None = None
    key: dict[str, int] = field(default_factory=dict)
    labels: dict[str, str] = field(default_factory=dict)
    letters: dict[str, str] = field(default_factory=lambda: dict(LETTERS))


def _head(fields: Sequence[Field], doubts: Doubts) -> _Head:
    """Return what the head says; of what it says twice, the last counts, and the first title."""
    head = _Head()
    for line, letter, text in fields:
        doubts.line = line
        if letter == "M":
            head.metre = metre_of(text, name=doubts.place)
        elif letter == "L":
            head.unit = unit_of(text, name=doubts.place)
        elif letter == "K":
            head.key = key_told(text, doubts)
        elif letter == "Q":
            head.speed = (line, letter, text)
        else:
            _named(head, letter, text, doubts)
    return head


def _named(head: _Head, letter: str, text: str, doubts: Doubts) -> None:
    """Take in a field of the head that is no number."""
    if letter == "T":
        head.title = head.title or text.strip()
    elif letter == "V":
        head.labels.update([_label(text)])
    elif letter == "U":
        meant = defined(text)
        head.letters.update([] if meant is None else [meant])
    elif letter == "m":
        doubts.add("macros (m:) are not read: write out what they stand for")
    elif letter == "P" and _ORDER.fullmatch(text.strip()):
        order = text.strip()[:SHOWN]
        doubts.add(f"P:{order} is not followed: the parts are taken once, in the order written")


def _voices(head: _Head, music: Sequence[Line], doubts: Doubts) -> list[Voice]:
    """Return the voices of a tune, read."""
    unit = usual_unit(head.metre) if head.unit is None else head.unit
    now = next(iter(head.labels), "")
    voices: dict[str, Voice] = {}
    for part, sign in _signs(music, doubts):
        now = _label(part)[0] if part else now
        if now not in voices:
            if len(voices) >= MOST_VOICES:
                raise doubts.refused(
                    f"there are more than {MOST_VOICES} voices (V:): is it one tune?"
                )
            voices[now] = _voice(head, unit, head.labels.get(now) or now or "tune", doubts)
        _read(voices[now], sign)
    for voice in voices.values():
        voice.done()
    _begin_at(head, unit, list(voices.values()), doubts)
    return list(voices.values())


def _voice(head: _Head, unit: Fraction, label: str, doubts: Doubts) -> Voice:
    """Return a voice in which nothing has been read."""
    gathered, rhythm = Gathered(doubts, head.metre), no_rhythm(doubts)
    notes = Notes(gathered, rhythm, unit, head.key)
    return Voice(doubts, gathered, rhythm, notes, Repeats(doubts), head.letters, label)


def _begin_at(head: _Head, unit: Fraction, voices: Sequence[Voice], doubts: Doubts) -> None:
    """Give the first bar the tempo of the head."""
    if head.speed is None:
        return
    doubts.line = head.speed[0]
    speed = speed_told(head.speed[2], unit, doubts)
    if speed is not None and voices and voices[0].gathered.bars:
        voices[0].gathered.bars[0].signs.tempi.insert(0, (Fraction(0), speed))


def _read(voice: Voice, sign: Token | tuple[str, str] | None) -> None:
    if isinstance(sign, Token) and sign.kind == LINE_ENDS:
        voice.end_line()
    elif isinstance(sign, Token):
        voice.read(sign)
    elif sign is not None:
        voice.field(*sign)


def _label(text: str) -> tuple[str, str]:
    """Return the name by which a voice is called in the tune, and its full name."""
    found = _VOICE.match(text)
    if found is None:
        return "", ""
    return found[1], " ".join((found[2] or found[1]).split())[:LONGEST_NAME]


def _signs(
    music: Sequence[Line], doubts: Doubts
) -> Iterator[tuple[str, Token | tuple[str, str] | None]]:
    """Yield the signs and fields of the music in order, and the voice that begins there, if any."""
    for line in music:
        doubts.line = line.number
        found = FIELD.match(line.text)
        if found is not None and found[1] == "V":
            yield found[2], None
        elif found is not None and found[1] in "MLKQP":
            yield "", (found[1], found[2])
        elif found is None:
            for token in tokens(line.text):
                if token.kind == "field" and token.text[1] == "V":
                    yield token.text[3:-1], None
                else:
                    yield "", token
            yield "", Token(LINE_ENDS, "")


def _numbered(bars: list[Measure]) -> Iterator[Measure]:
    """Yield the bars with their numbers: an upbeat is 0, a piece of a bar that was cut has none."""
    number, missing = 0, None
    for place, bar in enumerate(bars):
        short = bar.nominal is not None and 0 < bar.filled < bar.nominal
        if not place and short and len(bars) > 1:
            bar.printed, bar.implicit = "0", True
        elif short and missing is not None and bar.filled == missing:
            bar.printed, bar.implicit = "X", True
        else:
            number += 1
            bar.printed = str(number)
        missing = bar.nominal - bar.filled if short and bar.nominal is not None else None
        yield bar
