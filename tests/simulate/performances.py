"""Performances of invented piano pieces whose every beat is known.

A piece is harmony, a left hand in one of five manners that change every eight bars, and a right
hand of figures with rests, ties and syncopations; some beats have no note at all.  A performance
plays it with a tempo curve (``tempo_curves``), hands that are not quite together, pedal, a room,
noise, silence before and, where asked for, applause after.  Seeds from ``HELD_OUT`` on take the
second instrument, and nothing was ever chosen on them.

A beat's true second is the median onset of the notes that stand on it, or where the tempo curve
puts it when none does.
"""

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.simulate.pianos import RATE, Sound, applause, hiss, mixed
from tests.simulate.tempo_curves import MODELS, seconds_of

Floats = NDArray[np.float64]
Random = np.random.Generator
HELD_OUT = 5000

# Onsets of a figure within a beat of two, and of three; None holds or rests through the beat.
SIMPLE = (
    (0,),
    (0, 0.5),
    (0, 0.5),
    (0, 0.25, 0.5, 0.75),
    (0, 0.75),
    (0.5,),
    (),
    (0, 0.25, 0.75),
    (0.25, 0.5),
)
COMPOUND = ((0,), (0, 1 / 3, 2 / 3), (0, 2 / 3), (2 / 3,), (), (0, 1 / 3, 2 / 3))
SCALE = (0, 2, 4, 5, 7, 9, 11)
DEGREES = (0, 3, 4, 0, 5, 1, 4, 0)


Runs = tuple[tuple[int, int], ...]


@dataclass(frozen=True, slots=True)
class Around:
    """What stands around the music: silence before, applause after, noise; None is any.

    ``jump`` is a bar and how many times as long beats last from there on: a new section.  ``piano`` is
    the instrument, None the one that the seed takes.
    """

    before_s: float | None = None
    applause_s: float = 0.0
    noise_db: float | None = None
    jump: tuple[int, float] | None = None
    piano: int | None = None


@dataclass(frozen=True, slots=True)
class Piece:
    """Written notes: ``onset`` and ``length`` in beats, MIDI ``pitch``, ``loud`` from 0 to 1."""

    bars: int
    beats: int
    onset: Floats
    pitch: Floats
    length: Floats
    loud: Floats


@dataclass(frozen=True, slots=True)
class Performed:
    """A recording, shape (n,), and the second of every beat of every bar in it."""

    sound: Sound
    rate: int
    piece: Piece
    beats_s: Floats
    onsets_s: Floats

    @property
    def downbeats_s(self) -> Floats:
        """Return the second of each bar's first beat."""
        return self.beats_s[:: self.piece.beats]


def perform(
    seed: int,
    *,
    expressive: bool,
    bars: int = 48,
    before_s: float | None = None,
    applause_s: float = 0.0,
    noise_db: float | None = None,
) -> Performed:
    """Return the performance of ``seed``: another seed, another piece, tempo and hand."""
    rng = np.random.default_rng(seed)
    around = Around(before_s, applause_s, noise_db)
    return _performed(rng, seed, make_piece(rng, bars), expressive, around)


def perform_in_order(
    seed: int, order: Runs, *, expressive: bool, bars: int = 48, applause_s: float = 0.0
) -> Performed:
    """Return the piece of ``seed`` with only the bars of ``order`` played, run after run."""
    rng = np.random.default_rng(seed)
    piece = in_order(make_piece(rng, bars), order)
    return _performed(rng, seed, piece, expressive, Around(applause_s=applause_s))


def perform_with_jump(
    seed: int, jump: tuple[int, float], *, expressive: bool, bars: int = 32
) -> Performed:
    """Return the performance of ``seed`` in which beats last ``jump[1]`` times as long from a bar on."""
    rng = np.random.default_rng(seed)
    return _performed(rng, seed, make_piece(rng, bars), expressive, Around(jump=jump))


def perform_on(piano: int, seed: int, *, bars: int) -> Performed:
    """Return an expressive performance of ``seed`` on an instrument that is not the seed's own."""
    rng = np.random.default_rng(seed)
    return _performed(rng, seed, make_piece(rng, bars), True, Around(piano=piano))


def _performed(
    rng: Random,
    seed: int,
    piece: Piece,
    expressive: bool,  # noqa: FBT001  (a manner of playing, passed on)
    around: Around,
) -> Performed:
    bars = piece.bars
    model = list(MODELS)[seed % len(MODELS)]
    spread = rng.uniform(0.10, 0.18) if expressive else rng.uniform(0.04, 0.08)
    at, seconds = seconds_of(
        rng,
        bars=bars,
        beats=piece.beats,
        beat_s=rng.uniform(0.38, 0.85),
        model=model,
        spread=spread,
    )
    if around.jump is not None:
        begins = float(np.interp(around.jump[0] * piece.beats, at, seconds))
        seconds = seconds + np.maximum(seconds - begins, 0) * (around.jump[1] - 1)
    lead = rng.uniform(0.4, 3.0) if around.before_s is None else around.before_s
    seconds = seconds + lead
    onsets = np.interp(piece.onset, at, seconds) + rng.normal(0, 0.008, piece.onset.size)
    onsets -= (piece.pitch >= 70) * rng.uniform(0, 0.02)
    onsets = np.maximum(onsets, 0.0)
    ends = np.interp(piece.onset + piece.length, at, seconds)
    pedal = rng.uniform(0, 1.0) * (seconds[1] - seconds[0]) * 24
    lengths = np.maximum(ends - onsets, 0.08) + pedal * rng.random(onsets.size)
    sound = mixed(
        (onsets, piece.pitch, piece.loud, lengths),
        length_s=seconds[-1] + 2.5,
        which=int(seed >= HELD_OUT) if around.piano is None else around.piano,
        room=rng,
    )
    if around.applause_s:
        sound = np.concatenate((sound, applause(rng, around.applause_s)))
    level = rng.uniform(-62, -48) if around.noise_db is None else around.noise_db
    sound = sound + hiss(rng, sound.size, level)
    plain = np.interp(np.arange(bars * piece.beats), at, seconds)
    return Performed(sound, RATE, piece, _true_beats(piece, onsets, plain), onsets)


def in_order(piece: Piece, order: Runs) -> Piece:
    """Return ``piece`` with its bars played in the runs of ``order``."""
    parts = []
    at = 0
    for first, last in order:
        inside = (piece.onset >= first * piece.beats) & (piece.onset < (last + 1) * piece.beats)
        moved = piece.onset[inside] + (at - first) * piece.beats
        columns = (piece.pitch[inside], piece.length[inside], piece.loud[inside])
        parts.append(np.stack((moved, *columns), axis=1))
        at += last - first + 1
    table = np.concatenate(parts)
    return Piece(at, piece.beats, *table.T)


def _true_beats(piece: Piece, onsets: Floats, plain: Floats) -> Floats:
    beats = plain.copy()
    for beat in range(beats.size):
        here = onsets[np.abs(piece.onset - beat) < 1e-6]
        if here.size:
            beats[beat] = np.median(here)
    return beats


def make_piece(rng: Random, bars: int) -> Piece:
    """Return an invented piece of ``bars`` bars of two to four beats."""
    beats = int(rng.choice((2, 3, 4, 4)))
    compound = beats == 2 and rng.random() < 0.4
    key, notes = int(rng.integers(-5, 7)), []
    manner, favoured, figures = 0, np.arange(4), list(COMPOUND if compound else SIMPLE)
    degree, step = 7, 0
    for bar in range(bars):
        if bar % 8 == 0:
            manner = int(rng.integers(len(LEFT_HANDS)))
            favoured = rng.permutation(len(figures))[:4]
        root = DEGREES[bar % 8] if rng.random() < 0.7 else int(rng.integers(6))
        level = 0.5 + 0.2 * np.sin(bar / 5 + key)
        chord = [key + SCALE[(root + third) % 7] for third in (0, 2, 4)]
        notes += LEFT_HANDS[manner](bar * beats, beats, chord, level, 3 if compound else 2)
        last = bar == bars - 1
        for beat in range(beats):
            figure = (
                (0,) if beat == 0 and (last or bar == 0) else figures[int(rng.choice(favoured))]
            )
            if last and beat:
                break
            for place in figure:
                step = int(np.clip(rng.normal(0, 1.8) - 0.15 * (degree - 7), -5, 5))
                degree += step
                pitch = 60 + key + 12 * (degree // 7) + SCALE[degree % 7]
                loud = np.clip(level + 0.1 + 0.08 * rng.normal() + 0.06 * (place == 0), 0.15, 1)
                notes.append((bar * beats + beat + place, pitch, 1.0 if last else 0.5, loud))
    table = np.array(sorted(notes), dtype=float)
    table[:, 3] = np.clip(table[:, 3] + rng.normal(0, 0.05, len(table)), 0.1, 1)
    table[:, 1] = np.clip(table[:, 1], 26, 98)
    return Piece(bars, beats, table[:, 0], table[:, 1], table[:, 2], table[:, 3])


Notes = list[tuple[float, float, float, float]]


def _oompah(at: float, beats: int, chord: list[int], level: float, _parts: int) -> Notes:
    notes: Notes = [(at, 36 + chord[0], 0.9, level + 0.1)]
    for beat in range(1, beats):
        notes += [(at + beat, 48 + pitch, 0.5, level - 0.1) for pitch in chord]
    return notes


def _stride(at: float, beats: int, chord: list[int], level: float, _parts: int) -> Notes:
    notes: Notes = []
    for beat in range(beats):
        notes.append((at + beat, 36 + chord[2 * (beat % 2)], 0.5, level + 0.05))
        notes += [(at + beat + 0.5, 48 + pitch, 0.4, level - 0.1) for pitch in chord]
    return notes


def _held(at: float, beats: int, chord: list[int], level: float, _parts: int) -> Notes:
    return [(at, 48 + pitch, float(beats), level) for pitch in chord]


def _broken(at: float, beats: int, chord: list[int], level: float, parts: int) -> Notes:
    turns = (0, 2, 1, 2)
    return [
        (at + i / parts, 48 + chord[turns[i % 4]], 1 / parts, level - 0.05)
        for i in range(beats * parts)
    ]


def _after_beat(at: float, beats: int, chord: list[int], level: float, _parts: int) -> Notes:
    notes: Notes = [(at, 36 + chord[0], 1.0, level)]
    for beat in range(beats):
        notes += [(at + beat + 0.5, 50 + pitch, 0.4, level - 0.1) for pitch in chord]
    return notes


LEFT_HANDS = (_oompah, _stride, _held, _broken, _after_beat)
