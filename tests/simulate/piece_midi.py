"""A generated piece as a MIDI file of its notes."""

from tests.simulate.midi_bytes import meta, midi, number, track
from tests.simulate.performances import Piece

TICKS = 480


def midi_of(piece: Piece, *, channel: int = 0, program: int = 0) -> bytes:
    """Return ``piece`` as a notation program would write it: a beat is a quarter."""
    events = []
    for onset, pitch, length in zip(piece.onset, piece.pitch, piece.length, strict=True):
        start, stop = round(onset * TICKS), round((onset + length) * TICKS)
        events.append((start, 1, bytes([0x90 | channel, int(pitch), 80])))
        events.append((max(stop, start + 1), 0, bytes([0x80 | channel, int(pitch), 64])))
    body, now = bytes([0, 0xC0 | channel, program]), 0
    for tick, _, message in sorted(events):
        body, now = body + number(tick - now) + message, tick
    metre = meta(0x58, bytes([piece.beats, 2, 24, 8]))
    return midi([track(metre), track(meta(3, b"Piano") + body)])
