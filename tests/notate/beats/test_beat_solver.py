"""Mapping performances that nothing was chosen on, in every way of helping."""

import time

import mir_eval
import numpy as np
import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.notate.beats.decoding import SolvedBeat, decode, going_forward, onset_peaks
from rhythmtrain.notate.beats.lattice import Posterior
from rhythmtrain.notate.beats.marked_lattice import Curves
from rhythmtrain.notate.beats.marks import Mark, mark_factor
from rhythmtrain.notate.beats.solver import solve_beats
from rhythmtrain.notate.beats.tapping import agreeing, numbered_taps, tap_bias, tap_marks, unlagged
from tests.simulate.mapping_trials import (
    Trial,
    every_beat,
    every_fourth_bar,
    first_bars,
    joined,
    outcome,
    trial,
)
from tests.simulate.pace import stretched
from tests.simulate.performances import HELD_OUT, perform

SEEDS = (HELD_OUT + 100, HELD_OUT + 101, HELD_OUT + 102)


@pytest.fixture(scope="module")
def steady() -> list[Trial]:
    """Return trials on three steady accompanists, one for each model of tempo."""
    return [trial(perform(seed, expressive=False, bars=32), seed) for seed in SEEDS]


@pytest.fixture(scope="module")
def expressive() -> list[Trial]:
    """Return trials on three expressive performances, one for each model of tempo."""
    return [trial(perform(seed, expressive=True, bars=32), seed) for seed in SEEDS]


def test_every_beat_tapped_gives_beats_far_better_than_the_taps(
    steady: list[Trial], expressive: list[Trial]
) -> None:
    """Tapping once through a piece is enough."""
    for trials in (steady, expressive):
        mapped = joined([outcome(every_beat(each), each.performed.beats_s) for each in trials])
        raw = np.concatenate([each.taps_s - each.performed.beats_s for each in trials])
        assert mapped.median_ms < 0.3 * 1000 * np.median(np.abs(raw))
        assert mapped.median_ms <= 8
        assert mapped.p95_ms <= 50
        assert mapped.right >= 0.97


def test_a_mark_every_four_bars_is_enough(steady: list[Trial], expressive: list[Trial]) -> None:
    """Between marks the recording speaks."""
    for trials, least in ((steady, 0.95), (expressive, 0.90)):
        done = [outcome(every_fourth_bar(each), each.performed.beats_s) for each in trials]
        assert joined(done).right >= least


def test_straight_lines_between_the_same_marks_are_far_worse(expressive: list[Trial]) -> None:
    """Why nothing is filled in."""
    away, line = [], []
    for each in expressive:
        truth = each.performed.beats_s
        places = np.array([*range(0, truth.size - each.bar, 4 * each.bar), truth.size - each.bar])
        inside = np.arange(places[-1])
        line.append(np.interp(inside, places, truth[places]) - truth[inside])
        away.append(outcome(every_fourth_bar(each), truth).errors_s[inside])
    lines = np.median(np.abs(np.concatenate(line)))
    assert np.median(np.abs(np.concatenate(away))) < 0.2 * lines


def test_two_bars_and_the_end_map_a_steady_accompanist_and_name_the_doubt(
    steady: list[Trial],
) -> None:
    """Nine taps; what is wrong is among what is said to be unsure."""
    done = joined([outcome(first_bars(each, 2), each.performed.beats_s) for each in steady])
    assert done.right >= 0.9
    assert done.found >= 0.75


def test_numbers_are_those_of_mir_eval(steady: list[Trial]) -> None:
    """The F-measure of a map with right numbers is as high by the field's own program."""
    each = steady[0]
    beats = np.array([beat.time_s for beat in every_beat(each)])
    scores = mir_eval.beat.evaluate(each.performed.beats_s, beats)
    assert scores["F-measure"] >= 0.98
    assert scores["Correct Metric Level Total"] >= 0.95


def test_one_bad_tap_does_not_break_the_path(steady: list[Trial]) -> None:
    """A finger that slips by a third of a second in the middle is overruled."""
    each = steady[0]
    taps = each.taps_s.copy()
    slip = taps.size // 2
    taps[slip] += 0.6 * (taps[slip + 1] - taps[slip])
    slipped = Trial(each.performed, each.curves, taps, each.rng)
    away = outcome(every_beat(slipped), each.performed.beats_s).errors_s
    assert abs(away[slip]) < 0.07
    assert np.mean(np.abs(away) < 0.07) >= 0.97


def test_later_recordings_give_later_beats_and_nothing_else(steady: list[Trial]) -> None:
    """Half a second of silence before it moves every beat by half a second."""
    each = steady[1]
    shifted = Curves(
        np.concatenate((np.zeros(50), each.curves.onsets)),
        np.concatenate((np.zeros((7, 50)), each.curves.phases), axis=1),
    )
    count = 8 * each.bar
    marks = [
        (0, float(each.performed.beats_s[0])),
        (count - 1, float(each.performed.beats_s[count - 1])),
    ]
    plain = solve_beats(each.curves, beats_a_bar=each.bar, count=count, anchors=marks)
    later = solve_beats(
        shifted, beats_a_bar=each.bar, count=count, anchors=[(b, t + 0.5) for b, t in marks]
    )
    moved = [b.time_s - a.time_s for a, b in zip(plain.beats, later.beats, strict=True)]
    assert np.allclose(moved, 0.5, atol=0.03)


def test_five_minutes_are_solved_in_five_seconds() -> None:
    """Nobody waits (0.7 s measured; this holds the order of magnitude, not the machine)."""
    long = trial(perform(HELD_OUT + 110, expressive=False, bars=110), 0)
    begun = time.process_time()
    every_beat(long)
    took = time.process_time() - begun
    assert took * 300 / long.curves.duration_s < stretched(5)


def _flat(seconds: float = 20.0) -> Curves:
    count = int(seconds * 100) + 1
    return Curves(np.zeros(count), np.zeros((7, count)))


@pytest.mark.parametrize(
    ("asked", "words"),
    [
        ({}, "nothing says where the bars are, and by sound alone"),
        ({"anchors": [(0, 1.0)]}, "one mark does not tell the tempo"),
        ({"anchors": [(0, 1.0), (4, 0.5)]}, "1 s and 0.5 s go backwards"),
        ({"anchors": [(0, 1.0), (0, 1.5)]}, "for the same beat"),
        ({"anchors": [(0, 1.0), (4, 30.0)]}, "30 s lies outside the recording, which lasts 20.0 s"),
        ({"anchors": [(0, -1.0), (4, 3.0)]}, "-1 s lies outside"),
        ({"anchors": [(0, float("nan")), (4, 3.0)]}, "must be a number of seconds"),
        ({"anchors": [(0, 1.0), (16, 3.0)]}, "names a beat outside the bars"),
        ({"anchors": [(0, 1.0), (15, 1.5)]}, r"0.03 s a beat, and a beat lasts 0.12 to 4 s"),
        ({"anchors": [(0, 15.0), (1, 18.0)]}, "ends before the last of these bars"),
        ({"anchors": [(0, 1.0), (4, 3.0)], "count": 0}, "a map has 1 to"),
    ],
)
def test_help_that_cannot_be_is_said_in_one_sentence(asked: dict[str, object], words: str) -> None:
    """With the way to mend it."""
    with pytest.raises(RequestError, match=words):
        solve_beats(_flat(), **({"beats_a_bar": 4, "count": 16} | asked))  # type: ignore[arg-type]


def test_where_the_recording_says_nothing_the_doubt_grows_with_the_distance() -> None:
    """Silence between two marks is not filled with confidence."""
    solved = solve_beats(_flat(), beats_a_bar=4, count=16, anchors=[(0, 2.0), (15, 9.5)])
    unsure = [beat.uncertainty_s for beat in solved.beats]
    assert unsure[7] > 3 * max(unsure[0], unsure[15])
    assert set(solved.unsure_bars[:2]) == {1, 2}


def test_a_single_mark_and_a_tempo_map_the_bars_around_it() -> None:
    """The smallest help of all, and it says that it is small."""
    solved = solve_beats(_flat(), beats_a_bar=4, count=8, anchors=[(3, 5.0)], beat_hint_s=0.5)
    times = [beat.time_s for beat in solved.beats]
    assert times[3] == pytest.approx(5.0, abs=0.05)
    assert times == sorted(times)
    assert solved.unsure_bars


@pytest.mark.parametrize("left_out", [1, 2, 3])
def test_steady_taps_are_numbered_through_a_gap(left_out: int) -> None:
    """A sneeze leaves out beats, and the count goes on."""
    times = [0.6 * beat for beat in range(20) if not 9 <= beat < 9 + left_out]
    assert [beat for beat, _ in numbered_taps(times)] == [round(each / 0.6) for each in times]


def test_a_double_tap_counts_once_and_few_taps_are_taken_as_they_come() -> None:
    """A finger that bounces is no beat."""
    assert [beat for beat, _ in numbered_taps([0, 0.5, 1.0, 1.08, 1.5, 2.0])] == [0, 1, 2, 3, 4]
    assert numbered_taps([1.0, 3.0, 3.5]) == ((0, 1.0), (1, 3.0), (2, 3.5))


def test_a_mark_by_ear_sets_the_count_of_the_taps_right_from_there_on() -> None:
    """One tap too many in bar 2: the person says where bar 3 begins, and the rest follows."""
    taps = [(beat, 0.5 * beat) for beat in range(16)]
    counted = agreeing(taps, [(8, 4.5)])
    assert counted[:8] == taps[:8]
    assert counted[8:] == [(beat - 1, time) for beat, time in taps[10:]]
    assert agreeing(taps, [(8, 4.02)]) == taps[:8] + taps[9:]
    assert agreeing(taps, [(40, 20.0)]) == taps
    assert agreeing([], [(0, 1.0)]) == []


@pytest.mark.parametrize("early", [0.0, 0.03, 0.06])
def test_the_taps_bias_is_found(early: float) -> None:
    """A person who taps ahead is not mapped ahead."""
    rng = np.random.default_rng(4)
    beats = np.cumsum(rng.uniform(0.4, 0.6, 40))
    onsets = np.zeros(2600)
    onsets[np.rint(beats * 100).astype(int)] = 1.0
    taps = beats - early + rng.normal(0, 0.015, beats.size)
    assert tap_bias(taps.tolist(), onsets, 100) == pytest.approx(-early, abs=0.012)


def test_hard_off_beats_do_not_outvote_a_whole_piece_of_taps() -> None:
    """In quick music that is struck between the beats, the map stays where the person tapped."""
    rng = np.random.default_rng(6)
    beats = np.arange(200) * 0.41 + 1.0
    onsets = np.zeros(8500)
    onsets[np.rint(beats * 100).astype(int)] = 0.1
    onsets[np.rint((beats + 0.205) * 100).astype(int)] = 1.0
    taps = beats + 0.03 + rng.normal(0, 0.02, beats.size)
    assert abs(tap_bias(taps.tolist(), onsets, 100)) < 0.1


def test_one_tap_is_as_early_as_people_are() -> None:
    """Where nothing sounds nothing is known but what people do."""
    assert tap_bias([2.0], np.zeros(400), 100) == pytest.approx(-0.035, abs=0.003)


def test_the_lag_after_a_change_of_tempo_is_taken_out() -> None:
    """One goes on for a beat in the old tempo; the map does not."""
    rng = np.random.default_rng(5)
    gaps = 0.5 + 0.15 * np.sin(np.arange(60) / 3) + rng.normal(0, 0.02, 60)
    beats = np.cumsum(gaps)
    taps = beats - 0.5 * np.diff(gaps, prepend=gaps[0])
    marks = tap_marks(list(enumerate(taps.tolist())))
    better = np.array([mark.time_s for mark in unlagged(marks, beats)])
    assert np.abs(better - beats)[3:].max() < 0.3 * np.abs(taps - beats)[3:].max()
    assert unlagged(marks[:5], beats) == marks[:5]


def test_a_beat_is_where_its_strong_onset_is_and_else_where_the_path_is() -> None:
    """Some beats have no note: the neighbours know best."""
    chance = np.exp(-0.5 * ((np.arange(40) - 20) / 2) ** 2)
    posterior = Posterior(100, chance / chance.sum())
    assert decode(posterior, 0.01, np.array([0.5, 1.225])).time_s == 1.225
    alone = decode(posterior, 0.01, np.array([0.5]))
    assert alone.time_s == pytest.approx(1.2)
    assert alone.uncertainty_s > decode(posterior, 0.01, np.array([1.225])).uncertainty_s
    assert decode(posterior, 0.01, np.zeros(0)).time_s == pytest.approx(1.2)


def test_weak_peaks_beside_strong_ones_are_no_onsets() -> None:
    """Ringing strings do not draw a beat to themselves."""
    onsets = np.zeros(300)
    onsets[[50, 60, 200]] = 1.0, 0.2, 0.2
    times, _ = onset_peaks(onsets, 100)
    assert times == pytest.approx([0.5, 2.0])


def test_two_beats_on_one_onset_are_parted_and_doubted() -> None:
    """A map goes forward whatever happens."""
    beats = going_forward([SolvedBeat(1.0, 0.01, 1.0), SolvedBeat(1.0, 0.01, 1.0)])
    assert beats[1].time_s > beats[0].time_s
    assert beats[1].chance <= 0.5
    assert beats[1].uncertainty_s >= 0.07


def test_a_mark_favours_its_second_and_forbids_none() -> None:
    """The floor is what lets the recording overrule a slip."""
    mark = Mark(0, 5.0, 0.03, 1e-3)
    favour = mark_factor(mark, np.array([5.0, 5.03, 9.0]))
    assert favour[0] == pytest.approx(1.0)
    assert favour[1] == pytest.approx(np.exp(-0.5), abs=1e-3)
    assert favour[2] == pytest.approx(1e-3)
