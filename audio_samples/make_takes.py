"""Make the two takes of the demo: an invented clarinettist at home, clapping and then playing.

Nobody was recorded.  Claps and clarinet tones are this project's own voices, put into a small
room (direct sound, then a tail that dies away within 0.35 s) with a little noise from the
microphone.  What she does is written down in ``CLAPPING`` and ``PLAYING`` below, so anyone can see
what the demo ought to say of it.  The same versions of numpy and rhythmtrain give the same files::

    python audio_samples/make_takes.py
"""

from collections.abc import Callable
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path

import numpy as np
import soundfile
from numpy.typing import NDArray

from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.recorded.accompaniment import accompaniment_for, has_accompaniment
from rhythmtrain.render.tones import TUNE, sounding, tone
from rhythmtrain.render.voices import clapped
from rhythmtrain.timing.beside_recording import on_recording
from rhythmtrain.timing.timeline import PlayedNote, Practice, Timeline, lay_out

FOLDER = Path(__file__).parent / "takes"
RATE = 22_050
ROOM_S, ROOM_DB = 0.35, -14.0
NOISE_DB = -74.0
CLAP_PEAK, TONE_LUFS = 0.5, -20.0


@dataclass(frozen=True)
class Player:
    """What is played: how fast, how often, and what goes otherwise than written.

    ``moved`` gives, by (bar, count), quarters that a note comes late (early is negative), every
    time; ``after`` the same for everything from there on; ``left_out`` the (bar, count, repeat)
    that are missing.  ``lead_s`` is how far ahead of the click she is; ``spread_s`` how evenly.
    """

    drill: str
    speed: float
    repeats: int
    begins_s: float
    lead_s: float
    spread_s: float
    moved: dict[tuple[int, str], float] = field(default_factory=dict)
    after: dict[tuple[int, str], float] = field(default_factory=dict)
    left_out: frozenset[tuple[int, str, int]] = frozenset()
    before_s: tuple[float, ...] = ()


# Two times through at quarter = 54.  In bars 1 and 2 the syncopation sits well.  In bar 7 the
# second one is moved to the beat's half both times, and bar 8 comes a little late off the tie.
CLAPPING = Player(
    "towpath-rag", 0.75, 2, 3.1, 0.028, 0.014,
    moved={(7, "2e"): 0.25, (8, "1&"): 0.16},
    left_out=frozenset({(5, "2&", 2)}),
    before_s=(0.9, 1.25),
)  # fmt: skip
# Once through with the recorded piano, which she hears in headphones; she follows it well, but
# comes in one beat early in bar 14.
PLAYING = Player("sluice-gate-rag", 1.0, 1, 0.6, 0.010, 0.012, after={(14, "2&"): -1.0})


def main() -> None:
    """Write both takes."""
    FOLDER.mkdir(exist_ok=True)
    _write("clapping.flac", CLAPPING, _clap, seed=3)
    _write("playing.flac", PLAYING, _blow, seed=4)


def _write(name: str, player: Player, voice: "Voice", *, seed: int) -> None:
    rng = np.random.default_rng(seed)
    practice = Practice(speed=player.speed, repeats=player.repeats)
    timeline = _laid_out(player.drill, practice)
    end_s = player.begins_s + timeline.seconds(timeline.stop) + 1.5
    sound = np.zeros(round(end_s * RATE))
    for time_s in player.before_s:
        _put(sound, clapped(RATE) * CLAP_PEAK * 0.6, time_s)
    for note, time_s in _played(player, timeline, rng):
        _put(sound, voice(note, timeline, rng), time_s)
    sound = _in_the_room(sound, rng)
    soundfile.write(str(FOLDER / name), sound.astype(np.float32), RATE, subtype="PCM_16")


def _laid_out(drill: str, practice: Practice) -> Timeline:
    """Return when the drill's notes fall: where the accompanist gives them, if there is one."""
    passage = find_passage(drill)
    timeline = lay_out(passage, practice)
    if not has_accompaniment(drill):
        return timeline
    return on_recording(timeline, accompaniment_for(drill, passage).mapped)


def _played(
    player: Player, timeline: Timeline, rng: np.random.Generator
) -> list[tuple[PlayedNote, float]]:
    """Return the notes that are played, each with its second in the take."""
    found = []
    shift = 0.0
    for note in timeline.notes:
        place = (note.note.bar, note.note.count)
        shift += player.after.get(place, 0.0)
        if (*place, note.repeat) in player.left_out:
            continue
        quarters = note.at + Fraction(shift + player.moved.get(place, 0.0))
        time_s = timeline.seconds(quarters)
        time_s += player.begins_s - player.lead_s + rng.normal(0, player.spread_s)
        found.append((note, time_s))
    return found


Voice = Callable[[PlayedNote, Timeline, np.random.Generator], NDArray[np.float64]]


def _clap(_note: PlayedNote, _timeline: Timeline, rng: np.random.Generator) -> NDArray[np.float64]:
    return np.asarray(clapped(RATE), float) * CLAP_PEAK * 10 ** (rng.normal(0, 2) / 20)


def _blow(note: PlayedNote, timeline: Timeline, rng: np.random.Generator) -> NDArray[np.float64]:
    held_s = float(note.note.length) * 0.9 / timeline.tempo.speed_at(note.at)
    sound = tone(TUNE, note.note.pitches, sounding(held_s, RATE), RATE)
    return np.asarray(sound, float) * 10 ** ((TONE_LUFS + rng.normal(0, 1)) / 20)


def _put(sound: NDArray[np.float64], part: NDArray[np.float64], time_s: float) -> None:
    at = round(time_s * RATE)
    end = min(at + len(part), len(sound))
    sound[at:end] += part[: end - at]


def _in_the_room(sound: NDArray[np.float64], rng: np.random.Generator) -> NDArray[np.float64]:
    """Return the sound with the room's tail and the microphone's noise."""
    seconds = np.arange(round(ROOM_S * RATE)) / RATE
    tail = rng.standard_normal(len(seconds)) * 10 ** (-3 * seconds / ROOM_S)
    tail *= 10 ** (ROOM_DB / 20) / np.sqrt((tail**2).sum())
    tail[: round(0.003 * RATE)] = 0
    size = len(sound) + len(tail)
    wet = np.fft.irfft(np.fft.rfft(sound, size) * np.fft.rfft(tail, size), size)[: len(sound)]
    return sound + wet + rng.standard_normal(len(sound)) * 10 ** (NOISE_DB / 20)


if __name__ == "__main__":
    main()
