"""Which runs went right: from offsets to findings to runs, and how well a known skill is found."""

from dataclasses import replace

import numpy as np
import pytest

from rhythmtrain.assess.findings import Extra, Verdict
from rhythmtrain.coach.runs_heard import RunHeard, failed_bars, runs_heard
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.coach_table import REPEATS, estimates, evenness, passage, played, take_of

TIMELINE = lay_out(passage(), Practice(repeats=REPEATS, count_in=1))
NOTES = len(TIMELINE.notes) // REPEATS
# Of 600 runs of a student of twice the spread so many went right (seed 77, not used below).
TRUTH = 0.69
STEADY = np.full(NOTES * REPEATS, -0.02)


def heard(*amiss: tuple[int, float], exact: bool = True) -> tuple[RunHeard, ...]:
    """Return the runs of a steady player whose notes of these indices came so late (nan: never)."""
    offsets = STEADY.copy()
    for index, late_s in amiss:
        offsets[index] = late_s
    return runs_heard(TIMELINE, take_of(TIMELINE, list(offsets)), exact=exact)


def test_a_steady_player_gets_every_run_right_however_early_all_of_it_lies() -> None:
    """A common earliness is how people clap with a click, never a fault."""
    assert heard() == (RunHeard(right=True),) * REPEATS


def test_a_note_that_is_missing_or_plainly_late_fails_its_bar_and_no_other() -> None:
    """And only the time it happened."""
    first, second = heard((6, float("nan")))
    assert (first, second) == (RunHeard(right=False, failed=(2,)), RunHeard(right=True))
    first, second = heard((NOTES + 9, 0.28))
    assert (first.right, second.right) == (True, False)
    assert second.failed == (3,)


def test_a_note_that_is_only_a_little_late_fails_nothing() -> None:
    """Outside the 95 % line and inside the 99 % line: a dot, and no more."""
    findings = take_of(TIMELINE, list(STEADY))
    notes = list(findings.notes)
    notes[3] = replace(notes[3], verdict=Verdict.LATE, plain=False)
    assert runs_heard(TIMELINE, replace(findings, notes=tuple(notes)))[0].right
    notes[3] = replace(notes[3], plain=True)
    assert not runs_heard(TIMELINE, replace(findings, notes=tuple(notes)))[0].right


def test_a_clap_too_many_is_a_fault_where_taps_are_exact_and_else_may_be_a_chair() -> None:
    """The microphone hears more than claps."""
    findings = take_of(TIMELINE, list(STEADY))
    second_bar_s = findings.start_s + 2.2
    findings = replace(findings, extras=(Extra(second_bar_s, 2, "1"),))
    assert runs_heard(TIMELINE, findings)[0].right
    first, second = runs_heard(TIMELINE, findings, exact=True)
    assert first == RunHeard(right=False, failed=(2,))
    assert second.right


def test_what_was_not_played_to_its_end_is_no_run() -> None:
    """Whoever stopped in the second time through has one run."""
    findings = take_of(TIMELINE, list(STEADY))
    reached = replace(findings, notes=findings.notes[: NOTES + 3])
    assert len(runs_heard(replace(TIMELINE, notes=TIMELINE.notes[: NOTES + 3]), reached)) == 1


def test_what_could_not_be_checked_is_neither_right_nor_wrong() -> None:
    """A loudspeaker that was too loud says nothing of the player."""
    findings = take_of(TIMELINE, list(STEADY))
    hidden = tuple(replace(each, verdict=Verdict.NOT_CHECKED) for each in findings.notes[:NOTES])
    findings = replace(findings, notes=(*hidden, *findings.notes[NOTES:]))
    assert len(runs_heard(TIMELINE, findings)) == 1


def test_everything_a_beat_away_is_wrong_in_no_bar_of_its_own() -> None:
    """It was counted in wrongly, not played wrongly."""
    findings = replace(take_of(TIMELINE, list(STEADY)), shift_beats=1.0)
    assert runs_heard(TIMELINE, findings) == (RunHeard(right=False),) * REPEATS


def test_the_bar_that_failed_most_often_is_named_first() -> None:
    """It is the one to begin with."""
    runs = (RunHeard(right=False, failed=(2, 3)), RunHeard(right=False, failed=(3,)))
    assert failed_bars(runs) == (3, 2)


def test_a_students_known_skill_is_found() -> None:
    """A steady player's runs are right; one of twice the spread is found, and how uneven they are.

    ``python -m tests.simulate.coach_table`` prints more of it.
    """
    rng = np.random.default_rng(5)
    steady, uneven = played(1.0, 25, rng), played(2.0, 40, rng)
    assert steady.share >= 0.94, "an honest player is sent back in one run of twenty at most"
    assert evenness(steady) == pytest.approx(1.0, abs=0.1)
    assert evenness(uneven) == pytest.approx(2.0, abs=0.2)
    found = list(estimates(uneven, 5))
    assert np.mean([abs(share - TRUTH) for share, _, _ in found]) < 0.18
    assert np.mean([low <= TRUTH <= high for _, low, high in found]) >= 0.75
