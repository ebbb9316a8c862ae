"""Mapping a simulated performance in every way a person can help, and how far the map is out.

*Right* is the share of beats with the right number within 70 ms: stricter than an F-measure, which
a map that is on the beat but miscounts still scores.  *Found* is the share of wrong beats among
the fifth of which the map is least sure.  *Named* are the bars that a person is told to hear first;
they *hold* so many of the wrong beats.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

import mir_eval
import numpy as np
from numpy.typing import NDArray

from rhythmtrain.hearing.recording.beat_evidence import band_rises, beat_evidence
from rhythmtrain.hearing.recording.chroma import pitch_levels
from rhythmtrain.hearing.recording.spectra import LOWEST_PITCH, Spectra, SpectraFinder
from rhythmtrain.notate.beats.asking import UNSURE_CHANCE, downbeat_to_ask
from rhythmtrain.notate.beats.decoding import SolvedBeat
from rhythmtrain.notate.beats.marked_lattice import Curves
from rhythmtrain.notate.beats.solver import solve_beats
from rhythmtrain.notate.notes.aligned_beats import aligned_beats
from rhythmtrain.notate.notes.alignment import align_notes
from rhythmtrain.notate.notes.chord_places import Sounding
from rhythmtrain.notate.notes.written_chroma import WrittenNotes
from tests.simulate.performances import Performed, Piece
from tests.simulate.tappers import marked, tapped

Floats = NDArray[np.float64]
Random = np.random.Generator
Beats = Sequence[SolvedBeat]
RIGHT_S = 0.07
FLAGGED_SHARE = 0.2
BLOCK = 65_536


@dataclass(frozen=True, slots=True)
class Outcome:
    """Errors of all beats (s), how sure each was, and F by mir_eval; and the same, joined.

    ``named`` are the beats of bars that are to be heard first.
    """

    errors_s: Floats
    chance: Floats
    f_measure: float
    named: NDArray[np.bool_]

    @property
    def median_ms(self) -> float:
        """Return the median of the errors' size."""
        return 1000 * float(np.median(np.abs(self.errors_s)))

    @property
    def p95_ms(self) -> float:
        """Return the 95th percentile of the errors' size."""
        return 1000 * float(np.percentile(np.abs(self.errors_s), 95))

    @property
    def right(self) -> float:
        """Return the share of beats with the right number within 70 ms."""
        return float(np.mean(np.abs(self.errors_s) < RIGHT_S))

    @property
    def share_named(self) -> float:
        """Return the share of beats in bars that are to be heard first."""
        return float(np.mean(self.named))

    @property
    def hold(self) -> float:
        """Return the share of wrong beats in the bars to be heard first."""
        wrong = np.abs(self.errors_s) >= RIGHT_S
        return float((wrong & self.named).sum() / max(int(wrong.sum()), 1))

    @property
    def found(self) -> float:
        """Return the share of wrong beats that are among the least sure fifth.

        Of beats that are equally sure only so many are counted as a fifth holds, as by chance.
        """
        wrong = np.abs(self.errors_s) >= RIGHT_S
        room = FLAGGED_SHARE * wrong.size
        edge = np.sort(self.chance)[int(room)]
        below, level = self.chance < edge, self.chance == edge
        share = (room - below.sum()) / level.sum()
        found = (wrong & below).sum() + share * (wrong & level).sum()
        return float(found / max(int(wrong.sum()), 1))


def joined(outcomes: Sequence[Outcome]) -> Outcome:
    """Return several outcomes as one."""
    return Outcome(
        np.concatenate([each.errors_s for each in outcomes]),
        np.concatenate([each.chance for each in outcomes]),
        float(np.mean([each.f_measure for each in outcomes])),
        np.concatenate([each.named for each in outcomes]),
    )


def heard(sound: NDArray[np.float32], rate: int) -> Spectra:
    """Return the spectra of ``sound``, fed in blocks."""
    finder = SpectraFinder(rate)
    for start in range(0, sound.size, BLOCK):
        finder.feed(sound[start : start + BLOCK])
    return finder.finish()


def curves_of(performed: Performed) -> Curves:
    """Return what the solver is given of a performance."""
    evidence = beat_evidence(heard(performed.sound, performed.rate))
    return Curves(evidence.onsets, evidence.phases)


def sounding_of(spectra: Spectra) -> Sounding:
    """Return what the alignment of notes is given of a recording."""
    levels = pitch_levels(spectra.pitches)
    return Sounding(levels, LOWEST_PITCH, band_rises(spectra.bands), spectra.edges_hz)


def notes_of(piece: Piece) -> WrittenNotes:
    """Return the accompanist's notes as written."""
    return WrittenNotes(piece.onset, piece.pitch, piece.length)


def outcome(beats: Beats, truth: Floats, beats_a_bar: int = 1) -> Outcome:
    """Return how far ``beats`` are from ``truth``."""
    times = np.array([beat.time_s for beat in beats])
    chance = np.array([beat.chance for beat in beats])
    f_measure = float(mir_eval.beat.f_measure(truth, np.maximum.accumulate(times)))
    bars = np.arange(times.size) // beats_a_bar
    unsure = np.unique(bars[chance < UNSURE_CHANCE])
    return Outcome(times - truth, chance, f_measure, np.isin(bars, unsure))


@dataclass(frozen=True, slots=True, eq=False)
class Trial:
    """One performance, what was heard of it, and a person's taps on it."""

    performed: Performed
    curves: Curves
    taps_s: Floats
    rng: Random

    @property
    def bar(self) -> int:
        """Return the beats a bar."""
        return self.performed.piece.beats

    def solve(self, taps: Sequence[int], anchors: Mapping[int, float]) -> tuple[Beats, int]:
        """Return the beats solved, and the downbeat to ask for."""
        solved = solve_beats(
            self.curves,
            beats_a_bar=self.bar,
            count=self.performed.beats_s.size,
            anchors=sorted(anchors.items()),
            taps=[(beat, float(self.taps_s[beat])) for beat in taps],
        )
        return solved.beats, downbeat_to_ask(solved.beats, self.bar, anchors)

    def mark(self, beat: int) -> float:
        """Return where the person marks ``beat`` by ear."""
        return marked(self.rng, float(self.performed.beats_s[beat]))


def trial(performed: Performed, seed: int) -> Trial:
    """Return the trial of a performance by the person of ``seed``."""
    rng = np.random.default_rng(900 + seed)
    return Trial(performed, curves_of(performed), tapped(rng, performed.beats_s), rng)


def first_bars(trial: Trial, asked: int = 0) -> Beats:
    """Return the map from two bars tapped, the last downbeat marked, and ``asked`` marks more."""
    count = trial.performed.beats_s.size
    last = count - trial.bar
    anchors = {last: trial.mark(last)}
    beats, doubtful = trial.solve(range(2 * trial.bar), anchors)
    for _ in range(asked):
        anchors[doubtful] = trial.mark(doubtful)
        beats, doubtful = trial.solve(range(2 * trial.bar), anchors)
    return beats


def every_fourth_bar(trial: Trial) -> Beats:
    """Return the map from a mark on every fourth bar and on the last."""
    count = trial.performed.beats_s.size
    places = {*range(0, count - trial.bar, 4 * trial.bar), count - trial.bar}
    beats, _ = trial.solve((), {beat: trial.mark(beat) for beat in sorted(places)})
    return beats


def every_beat(trial: Trial) -> Beats:
    """Return the map from a tap on every beat."""
    beats, _ = trial.solve(range(trial.performed.beats_s.size), {})
    return beats


def notes_known(performed: Performed) -> tuple[Beats, Floats]:
    """Return the map from the accompanist's notes, and the true beats it covers."""
    aligned = align_notes(
        sounding_of(heard(performed.sound, performed.rate)), notes_of(performed.piece)
    )
    count = int(aligned.quarters[-1]) + 1
    return aligned_beats(aligned, np.arange(float(count))), performed.beats_s[:count]


WAYS: Mapping[str, Callable[[Trial], Beats]] = {
    "two bars tapped, and the end": first_bars,
    "… and two bars asked for": lambda trial: first_bars(trial, 2),
    "… and six": lambda trial: first_bars(trial, 6),
    "a mark every four bars": every_fourth_bar,
    "every beat tapped": every_beat,
}
