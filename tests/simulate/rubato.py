"""Free playing made by formula: passages, three manners of rubato, and mistakes put into them.

Three models of how tempo breathes, of which the judge was built on the first alone:

walk    relative tempo is a random walk over written units
arcs    every phrase speeds up and slows down in a parabola (after Todd 1985), and the last bars
        slow down as v(x) = [1 + (w^q - 1) x]^(1/q) (Friberg & Sundberg 1999)
manners a slow swing of tempo, heavy beats lengthened, a breath between phrases, dotted figures
        sharpened and even pairs a little uneven, as players do

Each note then has its own unsteadiness, larger where the neighbours are farther apart.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
from numpy.typing import NDArray

from rhythmtrain.assess.figures.figures import Chance
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Bar, Kind, Passage, Place
from rhythmtrain.timing.timeline import Timeline
from rhythmtrain.units import Bpm

Floats = NDArray[np.float64]
Random = np.random.Generator
GRID = 48

# Figures by the span they fill, in beats: p is played, s silent, h held.
SIMPLE_FIGURES: dict[int, tuple[str, ...]] = {
    1: (
        "p0",
        "p0 p1/2",
        "p0 p1/2",
        "p0 p1/4 p1/2 p3/4",
        "p0 p3/4",
        "p0 p1/4",
        "p0 p1/2 p3/4",
        "p0 p1/4 p1/2",
        "p0 p1/4 p3/4",
        "p0 p1/3 p2/3",
        "s0 p1/2",
        "s0",
        "h0 p1/2",
    ),
    2: ("p0", "p0 p3/2", "p0 p1/2 p3/2", "p0 p1/2 p1 p3/2", "p0 s1", "s0 s1"),
}
COMPOUND_FIGURES: dict[int, tuple[str, ...]] = {
    1: (
        "p0",
        "p0 p1/3 p2/3",
        "p0 p2/3",
        "p0 p1/3",
        "p0 p1/2 p2/3",
        "p0 s1/3 p2/3",
        "s0",
        "p0 p1/3 p1/2 p2/3",
    ),
    2: ("p0", "p0 s1", "p0 p4/3 p5/3"),
}
METRES = ("4/4", "3/4", "2/4", "6/8", "9/8", "4/4", "2/2")
KINDS = {"p": Kind.PLAYED, "s": Kind.SILENT, "h": Kind.HELD}


def make_passage(rng: Random, *, bars: int = 16, metre: str | None = None) -> Passage:
    """Return an invented passage of ``bars`` bars, a note on its first beat and its last."""
    measure = Metre.parse(metre or str(rng.choice(METRES)))
    beats = len(measure.beats)
    low, high = (40, 76) if measure.beats[0].compound or measure.unit == 2 else (56, 112)
    made = []
    for number in range(1, bars + 1):
        places: list[Place] = []
        beat = 0
        while beat < beats:
            span = 2 if beat + 2 <= beats and rng.random() < 0.3 else 1
            edge = (number in (1, bars)) and beat == 0
            places += _figure(rng, measure, beat, span if not edge else 1, plain=edge)
            beat += span if not edge else 1
        made.append(Bar(number, measure, tuple(places), Fraction(0), measure.length))
    return Passage("Made up", Bpm(float(rng.integers(low, high))), tuple(made))


def _figure(rng: Random, metre: Metre, beat: int, span: int, *, plain: bool) -> list[Place]:
    first = metre.beats[beat]
    table = COMPOUND_FIGURES if first.compound else SIMPLE_FIGURES
    text = "p0" if plain else str(rng.choice(table[span]))
    return [
        Place(first.start + Fraction(word[1:]) * first.length, KINDS[word[0]])
        for word in text.split()
    ]


@dataclass(frozen=True, slots=True)
class Performance:
    """A way of playing a timeline: written quarters ``at`` fall at ``seconds``, both rising."""

    at: Floats
    seconds: Floats

    def play(self, places: Floats) -> Floats:
        """Return when the ``places`` (quarters) sound, in seconds."""
        played: Floats = np.interp(places, self.at, self.seconds)
        return played


def _fine(timeline: Timeline) -> Floats:
    start, stop = float(timeline.start) - 8, float(timeline.stop) + 8
    grid: Floats = np.arange(start, stop, 1 / GRID)
    return grid


def _performed(timeline: Timeline, at: Floats, slowness: Floats) -> Performance:
    """Return the performance whose duration of a quarter is ``slowness`` times the written."""
    written = np.array([timeline.seconds(Fraction(place).limit_denominator(GRID)) for place in at])
    steps = np.diff(written, prepend=written[0]) * np.clip(slowness, 0.4, 3.0)
    return Performance(at, np.cumsum(steps))


def walk(timeline: Timeline, rng: Random) -> Performance:
    """Return a performance whose tempo walks at random, 0.05 to 0.15 for every √unit."""
    at = _fine(timeline)
    unit = 0.5 if timeline.passage.metre.beats[0].compound else 1.0
    spread = rng.uniform(0.05, 0.15) * np.sqrt(1 / (GRID * unit))
    tempo = np.empty(len(at))
    here = 0.0
    for index, push in enumerate(rng.normal(0, spread, len(at)).tolist()):
        here = here * (1 - 0.04 / GRID) + push
        tempo[index] = here
    return _performed(timeline, at, np.exp(np.clip(tempo, -0.6, 0.6)))


def arcs(timeline: Timeline, rng: Random) -> Performance:
    """Return a performance in parabolic phrases of two to eight bars and a final slowing down."""
    at = _fine(timeline)
    bar = float(timeline.passage.metre.length)
    phrase = bar * float(rng.choice((2, 4, 8)))
    depth, tilt = rng.uniform(0.08, 0.3), rng.uniform(-0.05, 0.05)
    inside = (at % phrase) / phrase
    slowness = 1 + depth * (2 * inside - 1) ** 2 + tilt * (2 * inside - 1)
    final, curve = rng.uniform(0.4, 0.7), rng.uniform(2.0, 3.0)
    length = bar * rng.uniform(1, 2)
    along = np.clip((at - (float(timeline.stop) - length)) / length, 0, 1)
    ritard = (1 + (final**curve - 1) * along) ** (1 / curve)
    return _performed(timeline, at, slowness / ritard)


def manners(timeline: Timeline, rng: Random) -> Performance:
    """Return a performance with slow swings, heavy beats, breaths and shaded figures."""
    at = _fine(timeline)
    metre = timeline.passage.metre
    bar, beat = float(metre.length), float(metre.beats[0].length)
    swing = rng.uniform(0.04, 0.12) * np.sin(
        2 * np.pi * (at / (bar * rng.uniform(2, 6)) + rng.random())
    )
    in_bar = at % bar
    heavy = rng.uniform(0.0, 0.08) * (in_bar < beat)
    sharp, uneven = rng.uniform(-0.04, 0.06), rng.uniform(0.0, 0.08)
    within = (at % beat) / beat
    shade = np.where(within < 0.5, uneven, -uneven) + np.where(within < 0.75, sharp, -3 * sharp)
    slowness = 1 + swing + heavy + (0 if metre.beats[0].compound else 1) * shade
    phrase = bar * float(rng.choice((2, 4)))
    breath = rng.uniform(0.05, 0.3) * beat
    last = (at % phrase) >= phrase - beat / 4
    breathes = (rng.random(int(at[-1] / phrase) + 3) < 0.7)[
        np.clip((at / phrase).astype(int), 0, None)
    ]
    slowness = slowness + last * breathes * breath / (beat / 4)
    return _performed(timeline, at, slowness)


MODELS: Mapping[str, Callable[[Timeline, Random], Performance]] = {
    "walk": walk,
    "arcs": arcs,
    "manners": manners,
}


def played(
    timeline: Timeline, performance: Performance, rng: Random, *, wrong: Chance | None = None
) -> Floats:
    """Return when each note of ``timeline`` sounds, shape (n,), with one figure ``wrong``."""
    at = np.array([float(note.at) for note in timeline.notes])
    if wrong is not None:
        for note, by in wrong.moved:
            at[note] += float(by)
    times = performance.play(at)
    if wrong is not None and wrong.after:
        turn = wrong.moved[-1][0]
        gap = float(timeline.notes[turn].at)
        shift = performance.play(np.array([gap, gap + float(wrong.after)]))
        times = performance.play(np.array([float(note.at) for note in timeline.notes]))
        for note, by in wrong.moved:
            times[note] = performance.play(np.array([float(timeline.notes[note].at + by)]))[0]
        times[turn + 1 :] += shift[1] - shift[0]
    gaps = np.diff(times)
    shorter = np.minimum(np.append(gaps, np.inf), np.insert(gaps, 0, np.inf))
    steadiness = rng.uniform(0.4, 1.0)
    noisy: Floats = times + rng.normal(0, 1, len(times)) * steadiness * np.hypot(
        0.018, 0.04 * np.clip(shorter, 0, 2)
    )
    return np.sort(noisy)
