"""The events of one MIDI track, as far as they are whole.

A track is a row of events, each after so many ticks: notes, program changes, the pedal, and the
*meta* events that tell tempo, metre and names are kept, all else is passed over by its length (from
mido's table of messages).  A status byte that is left out is the one before (running status); a meta or
system-exclusive event should end that, but many writers let it run on, and so does this reader.

Reading stops at the end-of-track event, at the limit, or where the bytes make no sense; what came
before is whole.  A note's strength above 127 is taken as 127 where the rest of the track then reads
to its end.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple

from mido.messages.specs import SPEC_BY_STATUS

NOTE_OFF, NOTE_ON, CONTROL, PROGRAM = 0x80, 0x90, 0xB0, 0xC0
# The controller that holds what is let go, and from which value on it is down.
PEDAL, PEDAL_DOWN = 64, 64
SYSEX, SYSEX_GOES_ON, META = 0xF0, 0xF7, 0xFF
END_OF_TRACK = 0x2F
STATUS_BIT = 0x80
LONGEST_NUMBER = 4
LARGEST_DATA = 127

# How many data bytes follow a status; what the standard leaves undefined has none.
_DATA_BYTES: dict[int, int] = {
    status: int(SPEC_BY_STATUS[status]["length"]) - 1 if status in SPEC_BY_STATUS else 0
    for status in range(STATUS_BIT, META)
    if status not in (SYSEX, SYSEX_GOES_ON)
}
_KEPT = {NOTE_OFF, NOTE_ON, PROGRAM}


class Event(NamedTuple):
    """One event: its tick, its status byte, and its data (a meta event's kind comes first)."""

    tick: int
    status: int
    data: bytes


@dataclass(frozen=True, slots=True)
class TrackEvents:
    """What was whole in a track.

    ``end_tick`` is where it ends, ``stop`` the byte after it; ``ended`` is False where no
    end-of-track event came, and ``damage`` says what made no sense, if anything did.
    """

    events: tuple[Event, ...]
    end_tick: int
    stop: int
    ended: bool
    damage: str = ""


class _DamageError(Exception):
    """Bytes that are no event; stays inside this module."""


def read_events(data: bytes, start: int, limit: int) -> TrackEvents:
    """Return the events in ``data`` from byte ``start`` to the end of the track, or ``limit``."""
    strict = _read(data, start, limit, loudest=LARGEST_DATA)
    if not strict.damage:
        return strict
    clipped = _read(data, start, limit, loudest=0xFF)
    return clipped if clipped.ended and not clipped.damage else strict


def _read(data: bytes, start: int, limit: int, *, loudest: int) -> TrackEvents:
    events: list[Event] = []
    at, tick, running = start, 0, 0
    try:
        while at < limit:
            before = at
            step, at = (data[at], at + 1) if data[at] < STATUS_BIT else _number(data, at, limit)
            status, at = _status(data, at, limit, running)
            running = status if status < SYSEX else running
            body, at = _body(data, at, limit, status)
            tick += step
            if status < SYSEX:
                _check(body, status, loudest, before)
            if status == META and body[0] == END_OF_TRACK:
                return TrackEvents(tuple(events), tick, at, ended=True)
            if status == META or status & 0xF0 in _KEPT or _is_pedal(status, body):
                events.append(Event(tick, status, body))
    except _DamageError as error:
        return TrackEvents(tuple(events), tick, at, ended=False, damage=str(error))
    return TrackEvents(tuple(events), tick, at, ended=False)


def pedal_moves(events: Iterable[Event]) -> tuple[tuple[int, int, bool], ...]:
    """Return when the pedal of which channel moved (channels count from 0), and whether down."""
    return tuple(
        (event.tick, event.status & 0x0F, event.data[1] >= PEDAL_DOWN)
        for event in events
        if _is_pedal(event.status, event.data)
    )


def _is_pedal(status: int, body: bytes) -> bool:
    return status & 0xF0 == CONTROL and body[0] == PEDAL


def _number(data: bytes, at: int, limit: int) -> tuple[int, int]:
    """Return a number of variable length, and the byte after it."""
    value = 0
    for index in range(at, min(at + LONGEST_NUMBER, limit)):
        value = value << 7 | data[index] & LARGEST_DATA
        if data[index] < STATUS_BIT:
            return value, index + 1
    raise _DamageError("it is cut off" if at + LONGEST_NUMBER > limit else "a time has no end")


def _status(data: bytes, at: int, limit: int, running: int) -> tuple[int, int]:
    if at >= limit:
        raise _DamageError("it is cut off")
    if data[at] >= STATUS_BIT:
        return data[at], at + 1
    if not running:
        raise _DamageError("it begins in the middle of an event")
    return running, at


def _body(data: bytes, at: int, limit: int, status: int) -> tuple[bytes, int]:
    """Return the data of an event, and the byte after it."""
    kind = b""
    length = _DATA_BYTES.get(status)
    if length is None:
        if status == META:
            kind, at = data[at : min(at + 1, limit)], at + 1
        length, at = _number(data, at, limit)
    stop = at + length
    if stop > limit:
        raise _DamageError("it is cut off")
    return kind + data[at:stop], stop


def _check(body: bytes, status: int, loudest: int, at: int) -> None:
    """Refuse data bytes that are no data; only a note's strength may be too large, if allowed."""
    if not body or max(body) <= LARGEST_DATA:
        return
    if status & 0xF0 != NOTE_ON or body[0] > LARGEST_DATA or body[1] > loudest:
        raise _DamageError(f"byte {at} is not part of any event")
