"""Make the recorded accompaniment of the demo: an invented rag, played by a piano of formulas.

Nobody was recorded.  The right hand plays the cue line of the drill, with the pitches below; the
left strides: a bass note on each beat, a chord on each off-beat.  A string sounds partials
f_n = n f_0 √(1 + B n²) (Fletcher 1964), weighted by where the hammer strikes, each dying at two
rates; a hammer adds a short thud.

The tempo breathes by a rule of its own: within each phrase of four bars a beat is longest at the
ends and shortest in the middle (``BREATH``), the pianist waits before the second entry and slows
over the last bars (``WAITS``).  The beats are therefore known, and go into the beat map beside the
recording.  Each hand strikes up to some milliseconds beside its beat, which the map states as its
uncertainty.  The same versions of numpy and rhythmtrain give the same beats and sound::

    python audio_samples/make_accompaniment.py
    python audio_samples/make_takes.py
"""

from collections.abc import Iterator
from fractions import Fraction
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.score.passage import notes_of
from rhythmtrain.storage.beat_maps import save_beat_map
from rhythmtrain.storage.places import drills_folder
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat

DRILL, NAME = "sluice-gate-rag", "sluice-gate-piano"
RATE = 22_050
TEMPO, BARS, BEGINS_S, ENDS_S = 72.0, 18, 0.8, 1.8
BREATH = 0.06
WAITS = {"13.2": 1.08, "14.1": 1.12, "17.1": 1.06, "17.2": 1.12, "18.1": 1.22, "18.2": 1.22}
HANDS_S = 0.004
ROOM_S, ROOM_DB, PEAK = 0.5, -12.0, 0.5
BLOCK = 4096

# Bass notes of a bar's two beats, and the chord after each of them (MIDI numbers).
F, D_MINOR, B_FLAT = (41, 36, (57, 60, 65)), (38, 45, (57, 62, 65)), (46, 41, (58, 62, 65))
G_MINOR, C_SEVENTH = (43, 38, (58, 62, 67)), (36, 43, (58, 60, 64))
HARMONY = (
    F, C_SEVENTH, F, C_SEVENTH,
    F, D_MINOR, B_FLAT, F,
    B_FLAT, F, G_MINOR, C_SEVENTH, F,
    C_SEVENTH, F, D_MINOR, C_SEVENTH, F,
)  # fmt: skip
RIGHT = (
    72, 74, 77, 74, 72, 70, 72, 76, 72, 74, 77, 81, 77, 79, 76, 74, 72,
    69, 72, 65, 69, 70, 74, 72, 77, 76, 74,
    74, 77, 82, 79, 77, 74, 72, 69, 70, 74, 79, 77, 76, 74, 72, 70, 69, 72, 77, 76, 74,
    72, 70, 69, 72, 65, 69, 70, 76, 77,
)  # fmt: skip

Sound = NDArray[np.float64]
Strike = tuple[Fraction, int, float, float]


def main() -> None:
    """Write the recording and its beat map beside the drill."""
    beats = _beats()
    folder = drills_folder()
    beat_map = BeatMap(tuple(_mapped(beats)))
    save_beat_map(folder / f"{NAME}.beats", beat_map, comment="Sluice Gate Rag, as it was played")
    _write(folder / f"{NAME}.ogg", _played(beats, np.random.default_rng(5)))


def _beats() -> Sound:
    """Return the second of each beat, and of the end."""
    lengths = []
    for beat in range(2 * BARS):
        phrase = (beat % 8 + 0.5) / 8
        breath = 1 + BREATH * np.cos(2 * np.pi * phrase)
        lengths.append(60 / TEMPO * breath * WAITS.get(_name(beat), 1.0))
    return BEGINS_S + np.concatenate(([0.0], np.cumsum(lengths)))


def _name(beat: int) -> str:
    return f"{1 + beat // 2}.{1 + beat % 2}"


def _mapped(beats: Sound) -> Iterator[MappedBeat]:
    """Yield the beats of the map, with that which ends the last bar."""
    for beat, time_s in enumerate(beats.tolist()):
        yield MappedBeat(round(time_s, 4), 1 + beat // 2, 1 + beat % 2, HANDS_S)


def _strikes() -> Iterator[Strike]:
    """Yield each note: its quarter, pitch, loudness from 0 to 1, and length in quarters."""
    cue = notes_of(find_passage(DRILL).cue)
    for note, pitch in zip(cue, RIGHT, strict=True):
        strong = 0.62 if note.at.denominator == 1 else 0.54
        yield note.at, pitch, strong, float(note.length)
    for bar, (low, other, chord) in enumerate(HARMONY):
        for beat, bass in enumerate((low, other)):
            at = Fraction(2 * bar + beat)
            yield at, bass, 0.6 - 0.06 * beat, 0.5
            if at < 2 * BARS - 2:
                yield from ((at + Fraction(1, 2), pitch, 0.34, 0.35) for pitch in chord)


def _played(beats: Sound, rng: np.random.Generator) -> Sound:
    """Return the sound of all notes, in a small room."""
    sound = np.zeros(round((beats[-1] + ENDS_S) * RATE))
    quarters = np.arange(len(beats))
    for at, pitch, loud, length in _strikes():
        start_s, stop_s = np.interp((float(at), float(at) + length), quarters, beats)
        note = _struck(pitch, loud, stop_s - start_s)
        start = round((start_s + rng.normal(0, HANDS_S)) * RATE)
        stop = min(start + note.size, sound.size)
        sound[start:stop] += note[: stop - start]
    return _in_the_room(sound, rng)


def _struck(pitch: int, loud: float, length_s: float) -> Sound:
    """Return one struck string; the damper falls after ``length_s``."""
    rng = np.random.default_rng(pitch)
    t = np.arange(round((length_s + 0.3) * RATE)) / RATE
    base = 440 * 2 ** ((pitch - 69) / 12)
    stiffness = 2e-4 * 2 ** ((pitch - 60) / 12)
    decay = 3.0 * 2 ** (-(pitch - 48) / 18)
    sound = 0.3 * rng.standard_normal(t.size) * np.exp(-t / 0.006) * loud
    for n in range(1, 17):
        hertz = n * base * np.sqrt(1 + stiffness * n * n)
        if hertz > 0.45 * RATE:
            break
        dying = decay / (1 + 0.12 * n)
        wave = (0.7 * np.exp(-t / (0.3 * dying)) + 0.3 * np.exp(-t / dying)) * np.sin(
            2 * np.pi * hertz * t + rng.uniform(0, 6.28)
        )
        sound += (0.15 + abs(np.sin(np.pi * n / 7.5))) * n ** -(1.7 - 0.7 * loud) * wave
    damped = np.exp(-np.maximum(0, t - length_s) / 0.07)
    shaped: Sound = sound * np.minimum(1, t / 0.002) * damped * loud**1.5
    return shaped


def _in_the_room(sound: Sound, rng: np.random.Generator) -> Sound:
    """Return the sound with a tail that dies away, its loudest sample at ``PEAK``."""
    t = np.arange(round(ROOM_S * RATE)) / RATE
    tail = rng.standard_normal(t.size) * 10 ** (-3 * t / ROOM_S)
    tail *= 10 ** (ROOM_DB / 20) / np.sqrt((tail**2).sum())
    tail[0] = 1.0
    size = sound.size + tail.size
    wet: Sound = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(tail, size), size)
    wet = wet[: sound.size]
    return wet * PEAK / np.abs(wet).max()


def _write(path: Path, sound: Sound) -> None:
    """Write Vorbis in blocks, as the encoder needs it."""
    with soundfile.SoundFile(path, "w", RATE, 1, format="OGG", subtype="VORBIS") as file:
        file.comment = "made by formulas, nobody was recorded"
        for start in range(0, sound.size, BLOCK):
            file.write(sound[start : start + BLOCK].astype(np.float32))


if __name__ == "__main__":
    main()
