"""Home takes: talk, false starts, steps back, tries, count-ins, getting lost."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.matching.start import busiest_origins
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.score.drill.drill import read_drill
from rhythmtrain.timing.tempomap import through
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.simulate.judging_trials import tries_trial
from tests.simulate.passages import bar, passage
from tests.simulate.sessions import MAKERS

SCORE = lay_out(
    passage(
        bar(1, 0, 1, "3/2", 2, 3),
        bar(2, 0, "1/2", 1, 2, "7/2"),
        bar(3, "1/2", 1, 2, "5/2", 3),
        bar(4, 0, 1, 2, "11/4"),
        bar(5, 0, "3/4", 1, 2, 3),
        bar(6, "1/2", "3/2", 2, 3),
        bar(7, 0, "1/2", 1, "3/2", 2, 3),
        bar(8, 0, 1, "5/2", 3),
        tempo=90,
    )
)
TIMES = np.array([float(SCORE.seconds(note.at)) for note in SCORE.notes])


def first_of(number: int) -> int:
    """Return the index of the first note of a bar."""
    return next(index for index, note in enumerate(SCORE.notes) if note.note.bar == number)


def played(first: int, stop: int, at_s: float, seed: int = 1) -> np.ndarray:
    """Return notes ``first`` to before ``stop``, the first at ``at_s``."""
    rng = np.random.default_rng(seed)
    return np.asarray(TIMES[first:stop] - TIMES[first] + at_s + rng.normal(0, 0.015, stop - first))


def heard(*rows: np.ndarray, speed: float | None = 1.0) -> Findings:
    """Return the findings of a take of these claps."""
    times = np.sort(np.concatenate(rows))
    take = Take("text", "a.txt", tuple(Heard(float(time)) for time in times), 200.0)
    return check_take(SCORE, take, Settings(speed=speed))


def test_a_false_start_is_a_try_of_its_own_and_the_whole_one_is_reported() -> None:
    """Nobody is marked down for stopping and beginning again."""
    findings = heard(played(0, 9, 1.0), played(0, len(TIMES), 9.0))
    assert [(each.from_bar, each.to_bar, each.complete) for each in findings.tries] == [
        (1, 2, False),
        (1, 8, True),
    ]
    assert findings.shown == 1
    assert findings.tally.matched == len(TIMES)
    assert findings.tally.extra == 0
    assert findings.remarks[0] == "two tries were heard; this is about number 2, bars 1 to 8"


def test_a_step_back_is_told_and_what_was_played_last_counts() -> None:
    """Stopped in bar 6, began again at 5: one try, no extras."""
    five, stop = first_of(5), first_of(6) + 2
    before = played(0, stop, 1.0)
    findings = heard(before, played(five, len(TIMES), before[-1] + 2.1))
    assert len(findings.tries) == 1
    assert "stopped in bar 6, began again at bar 5" in findings.remarks
    assert findings.tally.matched == len(TIMES)
    assert findings.tally.extra == 0
    again = next(note for note in findings.notes if note.bar == 5)
    assert again.played_s == pytest.approx(before[-1] + 2.1, abs=0.05)


def test_going_over_a_spot_after_the_end_is_a_try_of_its_own() -> None:
    """A whole run stays whole, whatever is tried afterwards."""
    whole = played(0, len(TIMES), 1.0)
    findings = heard(whole, played(first_of(3), first_of(6), whole[-1] + 3.0))
    assert [(each.from_bar, each.to_bar) for each in findings.tries] == [(1, 8), (3, 5)]
    assert findings.shown == 0
    assert findings.tally.matched == len(TIMES)


def test_a_pause_in_the_middle_begins_time_anew() -> None:
    """After a stop of any length the notes are as right as they were before."""
    four = first_of(4)
    before = played(0, four, 1.0)
    findings = heard(before, played(four, len(TIMES), before[-1] + 2.37))
    assert "stopped in bar 3, went on in bar 4" in findings.remarks
    assert findings.tally.matched == len(TIMES)
    assert {note.verdict for note in findings.notes} == {Verdict.IN_TIME}


def test_a_leap_of_a_whole_beat_beside_a_click_is_told_as_a_shift() -> None:
    """The click went on; from bar 5 the player was a beat behind it."""
    five = first_of(5)
    late = TIMES + 1.0
    late[five:] += 60 / 90
    findings = heard(late + np.random.default_rng(1).normal(0, 0.01, len(late)))
    assert "from bar 5 on everything came one beat late" in findings.remarks
    assert findings.tally.matched == len(TIMES)
    assert findings.notes[five].verdict is Verdict.IN_TIME
    assert findings.notes[five].offset_s == pytest.approx(60 / 90, abs=0.05)


def test_bars_in_which_the_player_was_lost_are_not_nine_missed_notes() -> None:
    """Lost in bar 3, back in at bar 5."""
    three, five = first_of(3), first_of(5)
    findings = heard(np.delete(TIMES + 1.0, np.arange(three, five)))
    assert "lost in bar 3, back in at bar 5" in findings.remarks
    assert findings.tally.missed == 0
    assert findings.tally.not_checked == five - three


def test_a_player_lost_to_the_end_is_told_where() -> None:
    """What was not played is not checked."""
    findings = heard(played(0, first_of(5), 1.0))
    assert "stopped in bar 4, before the end" in findings.remarks
    assert not findings.tries[0].complete
    assert findings.tally.not_checked == len(TIMES) - first_of(5)
    assert findings.tally.missed == 0


def test_counting_in_by_clapping_is_no_try_and_no_extra() -> None:
    """One, two, three, four: then bar 1."""
    beat = 60 / 90
    findings = heard(4.0 - beat * np.arange(4, 0, -1), played(0, len(TIMES), 4.0))
    assert len(findings.tries) == 1
    assert findings.tally.extra == 0
    assert findings.start_s == pytest.approx(4.0, abs=0.03)


def test_straight_on_through_repeats_is_read_as_straight_on() -> None:
    """Where every repeat looks the same the plainest reading is right."""
    score = lay_out(SCORE.passage, Practice(repeats=4))
    times = np.array([float(score.seconds(note.at)) for note in score.notes]) + 2
    take = Take("text", "a.txt", tuple(Heard(float(time)) for time in times), 200.0)
    findings = check_take(score, take, Settings(speed=1.0))
    assert len(findings.tries) == 1
    assert findings.tally.matched == len(times)
    assert {note.repeat for note in findings.notes} == {1, 2, 3, 4}


@pytest.mark.parametrize("kind", sorted(MAKERS))
def test_home_takes_of_every_kind_are_read_rightly(kind: str) -> None:
    """On passages that nothing was tuned on: most of them, and the pairs nearly all."""
    apart, told, right = tries_trial("unseen", 10, kind)
    assert apart >= 0.8
    assert told >= 0.8
    assert right >= 0.97


def test_the_busiest_origin_of_a_very_long_take_is_where_it_began() -> None:
    """An hour of playing is not searched everywhere."""
    rng = np.random.default_rng(2)
    notes = np.cumsum(rng.choice([0.25, 0.5, 0.75], 3000))
    origins = busiest_origins(notes + 7.0, notes, 0.02, 50)
    assert len(origins) <= 50
    assert np.min(np.abs(origins - 7.0)) <= 0.02


def test_a_long_take_is_followed_from_few_origins(monkeypatch: pytest.MonkeyPatch) -> None:
    """Memory stays bounded, and the reading the same."""
    full = heard(played(0, len(TIMES), 3.0))
    monkeypatch.setattr("rhythmtrain.assess.matching.following.MOST_CELLS", 20_000)
    few = heard(played(0, len(TIMES), 3.0))
    assert few.tally == full.tally
    assert few.start_s == pytest.approx(full.start_s, abs=1e-6)


THEME = """
title = "Mill Stream"
metre = "2/4"
tempo = 80
rhythm = "1 & 2 | 1 2 & | 1 & 2 & | 1 2 | rest 6 | 1 2 & | 1 2 | 1 & 2 | 1 2"
"""


@pytest.mark.parametrize("seed", range(6))
def test_who_comes_in_early_beside_what_goes_on_has_not_begun_again(seed: int) -> None:
    """The phrase after the rest resembles the first: a track that went on tells the two apart."""
    theme = read_drill(THEME, name="mill.toml").passage
    assert theme is not None
    breathing = np.cumsum(np.concatenate(([0.0], 0.75 + 0.06 * np.sin(np.arange(30) / 3))))
    anchors = tuple((Fraction(beat), float(second)) for beat, second in enumerate(breathing))
    timeline = replace(lay_out(theme), tempo=through(anchors))
    (entry,) = timeline.entries
    aims = [
        float(timeline.seconds(note.at - 4 * (number >= entry.note)))
        for number, note in enumerate(timeline.notes)
    ]
    claps = np.random.default_rng(seed).normal(np.array(aims) + 1.485, 0.012)
    take = Take("keys", "take", tuple(map(Heard, np.sort(claps).tolist())), 40.0)
    settings = Settings("recording", 1.5, one_go=True)
    found = check_take(timeline, take, settings)
    assert [each.verdict for each in found.entries] == ["two bars early"]
    assert len(found.tries) == 1
