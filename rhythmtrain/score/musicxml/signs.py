"""Signs beside the notes: tempo, landmarks, pauses, repeats, endings and jumps.

``sound`` says how a program would play; where it is there it is believed.  A metronome mark and the
words "D.C. al Fine" say the same to a reader, and count where no ``sound`` does.  ``sound tempo`` is in
quarters a minute whatever the beat (MusicXML 4.0).
"""

import re
from dataclasses import dataclass, field
from fractions import Fraction

from rhythmtrain.score.musicxml.durations import MOST_DOTS, NOTE_TYPES, number
from rhythmtrain.score.musicxml.markup import Node

LONGEST_WORDS = 60
MOST_TIMES = 99
# Attribute of ``sound`` that has a player jump, or marks where to: its name here.
JUMPS = {
    "dacapo": "dacapo",
    "dalsegno": "dalsegno",
    "segno": "segno",
    "tocoda": "tocoda",
    "coda": "coda",
    "fine": "fine",
}
# The same in words, as printed; what stands first is tried first.
JUMP_WORDS: tuple[tuple[str, re.Pattern[str]], ...] = tuple(
    (jump, re.compile(words, re.IGNORECASE))
    for jump, words in (
        ("tocoda", r"\s*(to coda|al(la)? coda)\b.{0,3}"),
        ("dacapo", r"\s*(d\.? ?c\.?|da capo)(\s+al\s.*)?\s*"),
        ("dalsegno", r"\s*(d\.? ?s\.?|dal segno)(\s+al\s.*)?\s*"),
        ("fine", r"\s*fine\.?\s*"),
        ("coda", r"\s*coda\.?\s*"),
    )
)
# A gradual change of tempo as ``written_bars`` puts it in words; it is no landmark.
GRADUALLY = re.compile(r"to [\d.]+ over \d+ bars?", re.ASCII)
# What is left of "Langsam (quarter = 60)" where a sign stood between the brackets.
_EMPTY = re.compile(r"\(\s*\)|\[\s*\]")
_PER_MINUTE = re.compile(r"\d{1,4}(\.\d{1,4})?", re.ASCII)


@dataclass(slots=True)
class Signs:
    """The signs of one bar, gathered while it is read; places are quarters into the bar.

    ``endings`` are the times at which an ending that begins here is played; ``times`` is how
    often in all the repeat is played that ``closes`` here, where the file says so, else 0.
    ``scaled`` are tempi that are a multiple of the one before ("quarter = dotted quarter").
    """

    opens: bool = False
    closes: bool = False
    times: int = 0
    endings: tuple[int, ...] = ()
    ending_stops: bool = False
    jumps: set[str] = field(default_factory=set)
    worded_jumps: set[str] = field(default_factory=set)
    tempi: list[tuple[Fraction, Fraction]] = field(default_factory=list)
    scaled: list[tuple[Fraction, Fraction]] = field(default_factory=list)
    letters: list[str] = field(default_factory=list)
    words: list[str] = field(default_factory=list)
    pauses: list[Fraction] = field(default_factory=list)


def read_direction(direction: Node, at: Fraction, signs: Signs) -> None:
    """Add what a ``direction`` at ``at`` says to ``signs``."""
    for kind in direction.all("direction-type"):
        for sign in kind.children:
            if sign.tag == "metronome":
                _metronome(sign, at, signs)
            elif sign.tag == "rehearsal":
                _said(sign.text, signs.letters)
            elif sign.tag in ("segno", "coda"):
                signs.worded_jumps.add(sign.tag)
    _words([sign for kind in direction.all("direction-type") for sign in kind.all("words")], signs)
    for sound in direction.all("sound"):
        read_sound(sound, at, signs)


def read_sound(sound: Node, at: Fraction, signs: Signs) -> None:
    """Add what a ``sound`` at ``at`` says to ``signs``."""
    tempo = number(sound.get("tempo") or "")
    if tempo is not None and tempo > 0:
        signs.tempi = [each for each in signs.tempi if each[0] != at]
        signs.tempi.append((at, tempo))
    for attribute, jump in JUMPS.items():
        if (sound.get(attribute) or "no") != "no":
            signs.jumps.add(jump)
    if sound.get("forward-repeat") == "yes":
        signs.opens = True


def read_barline(barline: Node, at: Fraction, signs: Signs) -> None:
    """Add what a ``barline`` says to ``signs``; ``at`` is where the music before it ends."""
    for repeat in barline.all("repeat"):
        _repeat(repeat, signs)
    for ending in barline.all("ending"):
        if ending.get("type") == "start":
            signs.endings = _ending_numbers(ending.get("number") or "")
        else:
            signs.ending_stops = True
    for jump in ("segno", "coda"):
        if barline.has(jump):
            signs.worded_jumps.add(jump)
        if barline.get(jump) is not None:
            signs.jumps.add(jump)
    if barline.has("fermata"):
        signs.pauses.append(at)


def _repeat(repeat: Node, signs: Signs) -> None:
    if repeat.get("direction") == "forward":
        signs.opens = True
    elif repeat.get("direction") == "backward":
        times = number(repeat.get("times") or "")
        signs.closes = True
        signs.times = min(max(int(times), 2), MOST_TIMES) if times is not None else 0


def _ending_numbers(text: str) -> tuple[int, ...]:
    """Return the times of "1, 2"; an ending without a number is read as the first."""
    found = [int(word) for word in re.findall(r"\d{1,2}", text, re.ASCII)]
    return tuple(sorted({each for each in found if each})) or (1,)


def _said(said: str, words: list[str]) -> None:
    text = " ".join(_EMPTY.sub(" ", said).split())
    if any(map(str.isalnum, text)) and len(text) <= LONGEST_WORDS and text not in words:
        words.append(text)


def _words(pieces: list[Node], signs: Signs) -> None:
    """Add the words of a direction: its pieces are one text, unless one alone says where to go on."""
    texts = [" ".join(piece.text.split()) for piece in pieces]
    whole = " ".join(texts)
    apart = jump_in_words(whole) is None and (
        len(whole) > LONGEST_WORDS or any(map(jump_in_words, texts))
    )
    for text in texts if apart else [whole]:
        jump = jump_in_words(text)
        if jump is not None:
            signs.worded_jumps.add(jump)
        elif not GRADUALLY.fullmatch(text):
            _said(text, signs.words)


def jump_in_words(text: str) -> str | None:
    """Return the jump that printed words mean ("D.C. al Fine"), or None."""
    return next((jump for jump, pattern in JUMP_WORDS if pattern.fullmatch(text)), None)


def _metronome(sign: Node, at: Fraction, signs: Signs) -> None:
    """Add a metronome mark's tempo, unless ``sound`` gave one for the place."""
    units: list[Fraction] = []
    for child in sign.children:
        if child.tag == "beat-unit" and child.text.strip() in NOTE_TYPES:
            units.append(NOTE_TYPES[child.text.strip()])
        elif child.tag == "beat-unit-dot" and units:
            dotted = units[-1] * Fraction(3, 2)
            units[-1] = dotted if dotted.numerator <= 3**MOST_DOTS else units[-1]
    shown = _PER_MINUTE.search(sign.text_of("per-minute"))
    if len(units) == 1 and shown is not None and float(shown[0]):
        if all(place != at for place, _ in signs.tempi):
            signs.tempi.append((at, Fraction(shown[0]) * units[0]))
    elif len(units) == 2:  # noqa: PLR2004  (one note value equals another)
        signs.scaled.append((at, units[1] / units[0]))
