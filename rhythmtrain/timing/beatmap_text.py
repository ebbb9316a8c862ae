"""The beat map as text.

One beat a line: seconds, a tab, ``bar.beat`` (``17.1``), and optionally a tab and the standard error
in seconds.  That is the form beat annotations have in music research.  ``#`` starts a comment.
"""

from collections.abc import Iterator

from rhythmtrain.errors import TakeError
from rhythmtrain.timing.beatmap import LARGEST_BAR, LARGEST_BEAT, BeatMap, MappedBeat

COLUMNS = (2, 3)
LARGEST_TEXT = 5_000_000


def read_beat_map(text: str) -> BeatMap:
    """Return the beat map written as ``text``.

    Raises:
        TakeError: a line that does not read (with its number), or beats that do not follow.
    """
    if len(text) > LARGEST_TEXT:
        raise TakeError("the beat map is larger than 5 MB: is it one?")
    return BeatMap(tuple(_lines(text)))


def write_beat_map(beat_map: BeatMap, *, comment: str = "") -> str:
    """Return ``beat_map`` as text that reads back as the same beats, to a tenth of a millisecond."""
    lines = [f"# {line}" for line in comment.splitlines()]
    for beat in beat_map.beats:
        unsure = "" if beat.uncertainty_s is None else f"\t{beat.uncertainty_s:.4f}"
        lines.append(f"{beat.time_s:.4f}\t{beat.name}{unsure}")
    return "\n".join(lines) + "\n"


def read_place(word: str) -> tuple[int, int]:
    """Return bar and beat of a place such as "17.1"; "17" is its first beat.

    Raises:
        TakeError: the word is no such place.
    """
    bar, _, beat = word.partition(".")
    if not (bar.isascii() and bar.isdigit() and len(bar) <= len(str(LARGEST_BAR))):
        raise TakeError(f"{word[:40]!r} is not a bar and a beat such as 17.1")
    if not beat and "." not in word:
        return int(bar), 1
    if not (beat.isascii() and beat.isdigit() and len(beat) <= len(str(LARGEST_BEAT))):
        raise TakeError(f"{word[:40]!r} is not a bar and a beat such as 17.1")
    return int(bar), int(beat)


def _lines(text: str) -> Iterator[MappedBeat]:
    for number, line in enumerate(text.lstrip("\ufeff").splitlines(), start=1):
        words = line.split("#", 1)[0].split()
        if not words:
            continue
        if len(words) not in COLUMNS:
            raise TakeError(
                f"line {number}: write seconds, a tab, and bar.beat such as 17.1 (got {line[:40]!r})"
            )
        try:
            bar, beat = read_place(words[1])
            yield MappedBeat(_number(words[0]), bar, beat, *map(_number, words[2:]))
        except TakeError as error:
            raise TakeError(f"line {number}: {error}") from error


def _number(word: str) -> float:
    try:
        return float(word)
    except ValueError as error:
        raise TakeError(f"{word[:40]!r} is not a number of seconds") from error
