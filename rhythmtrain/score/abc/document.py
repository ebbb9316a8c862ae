"""A tune in ABC as a score: its voices, and the bars they share.

A file may hold several tunes (``X:``): the first is read.  ``K:`` ends the head; what follows is music, with
fields on lines of their own or in brackets (ABC 2.1, sections 2 and 3).
"""

import re
from collections.abc import Iterator
from fractions import Fraction

from rhythmtrain.errors import FileError
from rhythmtrain.score.abc.fields import key_of, metre_of, speed_of, unit_of, usual_unit
from rhythmtrain.score.abc.tokens import Token, tokens
from rhythmtrain.score.abc.voice import Voice
from rhythmtrain.score.musicxml.bars import in_words, share_bars
from rhythmtrain.score.musicxml.document import LONGEST_NAME, Part, Score
from rhythmtrain.score.musicxml.measure import Measure

LARGEST_ABC = 1_000_000
MOST_VOICES = 50
_FIELD = re.compile(r"([A-Za-z+]):(.*)")
_VOICE = re.compile(r"\s*(\S+)(?:.*?\b(?:nm|name)=\"([^\"]*)\")?")
Field = tuple[str, str]


def read_abc(data: bytes, *, name: str) -> Score:
    """Return the first tune of an ABC file as a score.

    Raises:
        FileError: no ABC, too large, or a metre or length that is none.
    """
    lines = _lines(data, name)
    begins = [at for at, line in enumerate(lines) if line.startswith("X:")]
    said = [f"{name} holds {len(begins)} tunes: the first is read"] if len(begins) > 1 else []
    start, stop = (begins or [0])[0], (*begins[1:2], len(lines))[0]
    fields, music = _head(lines[start:stop], name)
    voices = list(_voices(fields, music, name))
    said += [each for voice in voices for each in voice.said]
    parts = tuple(
        Part(number, voice.label, keyboard=False, measures=tuple(_numbered(voice.bars)))
        for number, voice in enumerate(voices, start=1)
    )
    if not any(part.measures for part in parts):
        raise FileError(f"{name} holds no bars of music")
    bars, misfits = share_bars([part.measures for part in parts])
    title = next((text.strip() for letter, text in fields if letter == "T"), "")
    remarks = (*said, *in_words(misfits, [part.name for part in parts]))
    return Score(name, title, parts, bars, remarks)


def _lines(data: bytes, name: str) -> list[str]:
    if len(data) > LARGEST_ABC:
        raise FileError(f"{name} is larger than {LARGEST_ABC // 1_000_000} MB: is it one tune?")
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    return [line.split("%", 1)[0].rstrip("\\ \t") for line in text.splitlines()]


def _head(lines: list[str], name: str) -> tuple[list[Field], list[str]]:
    """Return the fields of a tune's head, and the lines of its music."""
    fields: list[Field] = []
    for number, line in enumerate(lines):
        found = _FIELD.match(line)
        if found is None:
            if line.strip():
                break
            continue
        fields.append((found[1], found[2]))
        if found[1] == "K":
            return fields, lines[number + 1 :]
    raise FileError(f"{name} is no ABC tune: no K: ends its head")


def _voices(fields: list[Field], music: list[str], name: str) -> Iterator[Voice]:
    """Yield the voices of a tune, read."""
    told = dict(reversed(fields))
    metre = metre_of(told["M"], name=name) if "M" in told else None
    unit = unit_of(told["L"], name=name) if "L" in told else usual_unit(metre)
    labels = dict(_label(text) for letter, text in fields if letter == "V")
    voices: dict[str, Voice] = {}
    now = next(iter(labels), "")
    for part, sign in _signs(music):
        now = _label(part)[0] if part else now
        if now not in voices:
            label = labels.get(now) or now or "tune"
            voices[now] = Voice(name, metre, unit, key_of(told["K"]), label)
        _read(voices[now], sign)
    if len(voices) > MOST_VOICES:
        raise FileError(f"{name} has more than {MOST_VOICES} voices")
    for voice in voices.values():
        voice.done()
    first = next(iter(voices.values()), None)
    speed = speed_of(told["Q"], unit) if "Q" in told else None
    if speed is not None and first is not None and first.bars:
        first.bars[0].signs.tempi.insert(0, (Fraction(0), speed))
    yield from voices.values()


def _read(voice: Voice, sign: Token | Field | None) -> None:
    if isinstance(sign, Token):
        voice.read(sign)
    elif sign is not None:
        voice.field(*sign)


def _label(text: str) -> tuple[str, str]:
    """Return the name by which a voice is called in the tune, and its full name."""
    found = _VOICE.match(text)
    if found is None:
        return "", ""
    return found[1], " ".join((found[2] or found[1]).split())[:LONGEST_NAME]


def _signs(music: list[str]) -> Iterator[tuple[str, Token | Field | None]]:
    """Yield the signs and fields of the music in order, and the voice that begins there, if any."""
    for line in music:
        found = _FIELD.match(line)
        if found is not None and found[1] == "V":
            yield found[2], None
        elif found is not None and found[1] in "MLKQP":
            yield "", (found[1], found[2])
        elif found is None:
            for token in tokens(line):
                if token.kind == "field" and token.text[1] == "V":
                    yield token.text[3:-1], None
                else:
                    yield "", token


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
