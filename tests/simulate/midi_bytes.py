"""MIDI files made byte by byte, so that they can be as wrong as those in the wild."""

import struct
from collections.abc import Iterable

END = b"\x00\xff\x2f\x00"


def number(value: int) -> bytes:
    """Return ``value`` as a MIDI number of variable length."""
    found = bytes([value & 0x7F])
    while value := value >> 7:
        found = bytes([value & 0x7F | 0x80]) + found
    return found


def meta(kind: int, body: bytes, *, after: int = 0) -> bytes:
    """Return a meta event ``after`` so many ticks."""
    return number(after) + bytes([0xFF, kind]) + number(len(body)) + body


def tempo(us: int, *, after: int = 0) -> bytes:
    """Return a tempo event of ``us`` microseconds a quarter."""
    return meta(0x51, us.to_bytes(3, "big"), after=after)


def note(key: int, *, after: int = 0, length: int = 480, channel: int = 0) -> bytes:
    """Return a note that begins ``after`` so many ticks and is ended with a note-off."""
    on = number(after) + bytes([0x90 | channel, key, 80])
    return on + number(length) + bytes([0x80 | channel, key, 64])


def notes(count: int, *, length: int = 480) -> bytes:
    """Return ``count`` notes in a row, ``length`` ticks each."""
    return b"".join(note(60 + index % 12, length=length) for index in range(count))


def track(body: bytes, *, says: int | None = None, end: bytes = END) -> bytes:
    """Return a track chunk, whose length field may say something else than what is there."""
    body += end
    return b"MTrk" + struct.pack(">I", len(body) if says is None else says) + body


def midi(
    tracks: Iterable[bytes], *, kind: int = 1, says: int | None = None, division: int = 480
) -> bytes:
    """Return a file of ``tracks``, whose header may promise another number of them."""
    rows = list(tracks)
    count = len(rows) if says is None else says
    return b"MThd" + struct.pack(">IHHH", 6, kind, count, division) + b"".join(rows)
