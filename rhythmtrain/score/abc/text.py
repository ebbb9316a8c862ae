r"""The lines of the first tune of an ABC file (ABC 2.1, section 2).

What stands before the first ``X:`` is the file's head, whose fields go for every tune.  ``K:`` ends the head of
a tune; an empty line, the next ``X:`` or the end of the file ends the tune.  ``%`` begins a comment, unless it
is written ``\%``; what stands between ``%%begintext`` and ``%%endtext`` is no music.
"""

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from rhythmtrain.errors import FileError
from rhythmtrain.score.abc.doubts import SHOWN

LARGEST_ABC = 1_000_000
# A line that begins so is a field; "A:|" is the note A and a bar line.
FIELD = re.compile(r"(?![A-Ga-g]:[:|\]])([A-Za-z+]):(.*)")
_COMMENT = re.compile(r"(?<!\\)%.*")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f]")
_MARKS = ((b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16"))
Field = tuple[int, str, str]


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the file: its number from 1, and what stands on it without a comment."""

    number: int
    text: str


@dataclass(frozen=True, slots=True)
class TuneText:
    """The first tune: its fields (line, letter, what it says) and its music; ``said`` is what to tell."""

    fields: tuple[Field, ...]
    music: tuple[Line, ...]
    said: tuple[str, ...]


def first_tune(data: bytes, *, name: str) -> TuneText:
    """Return the lines of the first tune in the bytes of the file ``name``.

    Raises:
        FileError: no text, too large, or without a tune.
    """
    lines = _without_texts(_decoded(data, name))
    begins = [at for at, line in enumerate(lines) if line.text.startswith("X:")]
    said = [f"{name} holds {len(begins)} tunes: the first is read"] if len(begins) > 1 else []
    start, stop = (begins or [0])[0], (*begins[1:2], len(lines))[0]
    if not begins:
        said.append(f"{name} has no X: before its tune: all of it is read as one tune")
    fields, music = _head(lines[start:stop], said, name)
    whole, left = _whole(music)
    if any("|" in line.text and not FIELD.match(line.text) for line in left):
        said.append(
            f"{name}, line {left[0].number}: the empty line before it ends the tune, and what follows "
            f"is not read; take the empty line out if it belongs to the tune"
        )
    return TuneText((*_fields(lines[:start]), *fields), tuple(whole), tuple(said))


def _decoded(data: bytes, name: str) -> str:
    if len(data) > LARGEST_ABC:
        raise FileError(f"{name} is larger than {LARGEST_ABC // 1_000_000} MB: is it one tune?")
    coding = next((coding for mark, coding in _MARKS if data.startswith(mark)), "utf-8-sig")
    try:
        text = data.decode(coding)
    except UnicodeDecodeError:
        text = data.decode("latin-1")
    if _CONTROL.search(text):
        raise FileError(f"{name} is no text, so it is no ABC tune: is it a file of another kind?")
    if not text.strip():
        raise FileError(f"{name} is empty: an ABC tune has X:1 and K:C, say, and then its music")
    return text


def _without_texts(text: str) -> list[Line]:
    """Return the lines that are no comment; what is typeset as text is left out."""
    lines: list[Line] = []
    in_text = False
    for number, line in enumerate(re.split(r"\r\n|\r|\n", text), start=1):
        if line.startswith("%%"):
            in_text = line.startswith("%%begintext") or (in_text and "endtext" not in line)
        elif not in_text:
            kept = _COMMENT.sub("", line)
            if kept.strip() or not line.strip():
                lines.append(Line(number, kept.rstrip()))
    return lines


def _head(lines: Sequence[Line], said: list[str], name: str) -> tuple[list[Field], Sequence[Line]]:
    """Return the fields of a tune's head, and the lines of its music; ``said`` gets what is passed over."""
    fields: list[Field] = []
    remedy = (
        "write K: and the key, such as K:G, on a line of its own after X: and T:, before the music"
    )
    ends = any(line.text.startswith("K:") for line in lines)
    for at, line in enumerate(lines):
        found = FIELD.match(line.text)
        shown = line.text.strip()[:SHOWN]
        if found is not None:
            fields.append((line.number, found[1], found[2]))
        elif line.text and ("|" in line.text or not ends):
            raise FileError(
                f"{name}, line {line.number}: no K: ends its head before {shown!r}; {remedy}"
            )
        elif line.text:
            said.append(
                f"{name}, line {line.number}: {shown!r} stands before K: and is no field such as T: "
                f"or Q:; it is passed over"
            )
        if found is not None and found[1] == "K":
            return fields, lines[at + 1 :]
    raise FileError(f"{name} is no ABC tune: no K: ends its head; {remedy}")


def _fields(lines: Sequence[Line]) -> Iterator[Field]:
    for line in lines:
        found = FIELD.match(line.text)
        if found is not None:
            yield line.number, found[1], found[2]


def _whole(music: Sequence[Line]) -> tuple[Sequence[Line], Sequence[Line]]:
    """Return the lines of the tune, and what follows the empty line that ends it."""
    first = next((at for at, line in enumerate(music) if line.text), len(music))
    end = next((at for at, line in enumerate(music) if at > first and not line.text), len(music))
    return music[first:end], [line for line in music[end:] if line.text]
