"""The chunks of a MIDI file: its header, and where each track begins and may end.

A Standard MIDI File (RP-001, 1996) is a header chunk and track chunks, each with a length.  Files in
the wild are wrapped in RIFF, carry chunks of other kinds, count their tracks wrongly, give wrong
lengths, or are cut off.  A length is believed where another chunk, or the end of the file, stands
where it says; else a track may go on to the next ``MTrk``, and its own end-of-track event says where
it stops.  mido's reader gives up the whole file at each of these, so it is not asked.
"""

import struct
from dataclasses import dataclass

from rhythmtrain.errors import FileError

HEADER, TRACK = b"MThd", b"MTrk"
HEADER_BYTES = 6
CHUNK_HEAD = 8
# A wrapper's head, or a resource fork left by an old computer, is a few hundred bytes.
HEADER_WITHIN = 65_536
MOST_TRACKS = 1_000
PARALLEL, SEQUENCES = 1, 2
SMPTE_BIT = 0x8000
# Frames a second by the negative number in the division's upper byte; 29 is 30 drop-frame.
SMPTE_FRAMES: dict[int, tuple[int, int]] = {
    24: (24, 1),
    25: (25, 1),
    29: (30_000, 1001),
    30: (30, 1),
}


@dataclass(frozen=True, slots=True)
class Span:
    """Where a track's events begin in the file, where they should end, and may end at most."""

    start: int
    promised: int
    limit: int


@dataclass(frozen=True, slots=True)
class Chunks:
    """What the file's frame says.

    ``kind`` is 0, 1 or 2.  One of ``ticks_a_quarter`` and ``ticks_a_second`` is there; the latter
    is (numerator, denominator).
    """

    kind: int
    ticks_a_quarter: int | None
    ticks_a_second: tuple[int, int] | None
    tracks: tuple[Span, ...]
    warnings: tuple[str, ...]


def read_chunks(data: bytes, *, name: str) -> Chunks:
    """Return the frame of the MIDI file ``data``; ``name`` is what the file is called.

    Raises:
        FileError: not a MIDI file, no track in it, or a division from which no time follows.
    """
    at = data.find(HEADER, 0, HEADER_WITHIN)
    if at < 0 or len(data) < at + CHUNK_HEAD + HEADER_BYTES:
        what = "is cut off inside its header" if at >= 0 else "is not a MIDI file: no MThd in it"
        raise FileError(f"{name} {what}")
    length, kind, promised, division = struct.unpack_from(">IHHH", data, at + 4)
    quarter, second = _division(division, name)
    after = at + CHUNK_HEAD + max(length, HEADER_BYTES)
    if not _chunk_at(data, after):
        after = at + CHUNK_HEAD + HEADER_BYTES
    spans = _tracks(data, after)
    if not spans:
        raise FileError(f"{name} is not a MIDI file that can be read: there is no track in it")
    if len(spans) > MOST_TRACKS:
        raise FileError(f"{name} has {len(spans)} tracks; at most {MOST_TRACKS} are read")
    warnings = []
    if promised != len(spans):
        warnings.append(
            f"tracks that its header promises: {promised}; that are there: {len(spans)}"
        )
    if kind > SEQUENCES or (kind == 0 and len(spans) > 1):
        warnings.append(f"its type is {kind}: all that is there is read side by side")
        kind = PARALLEL
    return Chunks(kind, quarter, second, spans, tuple(warnings))


def _division(division: int, name: str) -> tuple[int | None, tuple[int, int] | None]:
    """Return ticks a quarter, or ticks a second as (numerator, denominator)."""
    if not division & SMPTE_BIT:
        if not division:
            raise FileError(f"{name} gives 0 ticks to a quarter note: it has no times to read")
        return division, None
    frames, ticks = 256 - (division >> 8), division & 0xFF
    if frames not in SMPTE_FRAMES or not ticks:
        raise FileError(
            f"{name} gives {frames} frames a second of {ticks} ticks: it has no times to read "
            "(24, 25, 29 and 30 frames of 1 tick or more are known)"
        )
    over, under = SMPTE_FRAMES[frames]
    return None, (over * ticks, under)


def _tracks(data: bytes, at: int) -> tuple[Span, ...]:
    """Return the tracks from byte ``at`` on, passing over chunks of other kinds."""
    spans: list[Span] = []
    while at + CHUNK_HEAD <= len(data):
        start = at + CHUNK_HEAD
        end = start + _length(data, at)
        if data[at : at + 4] != TRACK:
            at = end if _chunk_at(data, end) else _next_track(data, at + 1)
            continue
        limit = end if _chunk_at(data, end) else _next_track(data, start)
        spans.append(Span(start, end, limit))
        at = limit
    return tuple(spans)


def _length(data: bytes, at: int) -> int:
    return int(struct.unpack_from(">I", data, at + 4)[0])


def _next_track(data: bytes, at: int) -> int:
    found = data.find(TRACK, at)
    return found if found >= 0 else len(data)


def _chunk_at(data: bytes, at: int) -> bool:
    """Return True when a chunk that lies within the file begins at ``at``, or the file ends there."""
    if at >= len(data):
        return at == len(data)
    if not data[at:].strip(b"\0"):
        return True
    head = data[at : at + 4]
    if head == TRACK:
        return True
    plain = len(head) == len(TRACK) and head.isascii() and head.decode("ascii").isprintable()
    return (
        plain and at + CHUNK_HEAD <= len(data) and at + CHUNK_HEAD + _length(data, at) <= len(data)
    )
