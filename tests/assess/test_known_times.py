"""A take held against a passage whose times are known: what a player is told, and what not."""

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from tests.simulate.passages import bar, passage

PASSAGE = passage(
    bar(1, 0, 1, "3/2", 2, 3),
    bar(2, 0, "3/4", 1, 2, 3),
    bar(3, 0, "1/2", 1, 2, "7/2"),
    bar(4, 0, "3/4", 1, "3/2", 2),
    tempo=75,
)
BEAT_S = 0.8
START_S = 2.0


def times_of(timeline: Timeline, at_s: float = START_S) -> np.ndarray:
    """Return when the notes fall when bar 1 begins at ``at_s``, played a little unevenly."""
    exact = [float(timeline.seconds(note.at)) for note in timeline.notes if note.expected]
    wobble = np.random.default_rng(5).normal(0, 0.012, len(exact))
    return np.array(exact) + at_s + wobble


def take_of(times: np.ndarray, uncertainty_s: float = 0.0) -> Take:
    """Return a take of claps at these seconds."""
    heard = tuple(Heard(float(time), uncertainty_s=uncertainty_s) for time in np.sort(times))
    return Take("text", "towpath.txt", heard, 300.0)


def check(
    times: np.ndarray,
    timeline: Timeline | None = None,
    *,
    start_s: float | None = START_S,
    speed: float | None = 1.0,
) -> Findings:
    """Return what is found of claps at ``times``."""
    return check_take(
        timeline or lay_out(PASSAGE), take_of(times), Settings(speed=speed, start_s=start_s)
    )


def test_a_good_take_is_in_time_from_end_to_end() -> None:
    """An honest player sees nothing red."""
    findings = check(times_of(lay_out(PASSAGE)))
    assert {note.verdict for note in findings.notes} == {Verdict.IN_TIME}
    assert not any(note.plain for note in findings.notes)
    assert findings.tally == replace(findings.tally, matched=20, missed=0, extra=0, not_checked=0)
    assert findings.looks_like is True
    assert findings.start == "given"
    assert findings.mistakes == ()
    assert findings.remarks == ()
    assert findings.slips == ()
    assert findings.unsteady_s == pytest.approx(0.012, abs=0.005)
    assert [each.bar for each in findings.bars] == [1, 2, 3, 4]


@given(st.floats(-0.15, 0.15))
@settings(max_examples=15, deadline=None)
def test_moving_all_claps_moves_the_offsets_by_as_much(by: float) -> None:
    """A sound delay is a habit, and no note is late for it."""
    before = check(times_of(lay_out(PASSAGE)))
    after = check(times_of(lay_out(PASSAGE)) + by)
    assert before.spread is not None
    assert after.spread is not None
    assert after.spread.mean_s - before.spread.mean_s == pytest.approx(by, abs=1e-9)
    assert [note.verdict for note in after.notes] == [note.verdict for note in before.notes]


@given(st.floats(0.55, 1.8))
@settings(max_examples=8, deadline=None)
def test_the_speed_is_found_when_nobody_said_it(speed: float) -> None:
    """Played at any speed within a factor of two, the same rhythm is as right."""
    findings = check((times_of(lay_out(PASSAGE)) - START_S) / speed + 4, speed=None, start_s=None)
    assert findings.tempo_found
    assert findings.speed == pytest.approx(speed, rel=0.01)
    assert {note.verdict for note in findings.notes} == {Verdict.IN_TIME}


@given(st.integers(0, 19))
@settings(max_examples=10, deadline=None)
def test_a_missing_clap_is_one_missed_note_and_changes_no_other(lost: int) -> None:
    """More missing never means more matched."""
    whole = check(times_of(lay_out(PASSAGE)))
    less = check(np.delete(times_of(lay_out(PASSAGE)), lost))
    assert less.tally.matched == whole.tally.matched - 1
    assert less.tally.missed == 1
    assert less.notes[lost].verdict is Verdict.MISSED
    assert less.notes[lost].played_s is None


def test_a_constant_lead_is_a_habit_and_no_fault() -> None:
    """Most people clap 20 to 60 ms before a click."""
    findings = check(times_of(lay_out(PASSAGE)) - 0.06)
    assert {note.verdict for note in findings.notes} == {Verdict.IN_TIME}
    assert findings.spread is not None
    assert findings.spread.median_s == pytest.approx(-0.06, abs=0.01)
    assert findings.spread.low_s < -0.06 < findings.spread.high_s


def test_a_constant_lateness_cannot_be_told_where_the_start_was_found() -> None:
    """The report says so instead of guessing."""
    findings = check(times_of(lay_out(PASSAGE)) + 0.3, start_s=None)
    assert findings.start == "found"
    assert findings.spread is not None
    assert findings.spread.median_s == pytest.approx(0, abs=1e-9)
    assert any("cannot be told" in words for words in findings.remarks)


def test_late_notes_do_not_move_a_start_that_was_found() -> None:
    """The habit of all the notes is nothing, also of those paired in the second stage."""
    times = times_of(lay_out(PASSAGE))
    times[[4, 9, 14, 19]] += 0.3
    findings = check(times, start_s=None)
    assert findings.spread is not None
    assert findings.spread.median_s == pytest.approx(0, abs=1e-9)
    assert findings.notes[9].verdict is Verdict.LATE


def test_one_late_note_is_late_and_the_others_stay_in_time() -> None:
    """The habit is the median, so one slip does not blame the rest."""
    times = times_of(lay_out(PASSAGE))
    times[7] += 0.3
    findings = check(times)
    assert findings.notes[7].verdict is Verdict.LATE
    assert findings.notes[7].plain
    assert findings.notes[7].offset_s == pytest.approx(0.3, abs=0.04)
    assert sum(note.verdict is Verdict.IN_TIME for note in findings.notes) == 19
    assert findings.slips == (7,)


def test_an_early_note_is_early() -> None:
    """Played minus written: negative is early."""
    times = times_of(lay_out(PASSAGE))
    times[3] -= 0.2
    findings = check(times)
    assert findings.notes[3].verdict is Verdict.EARLY
    assert findings.notes[3].offset_s == pytest.approx(-0.2, abs=0.04)


def test_between_the_two_lines_a_note_is_a_dot_without_a_word() -> None:
    """Beyond 95 of a hundred honest notes, but not beyond 99."""
    times = times_of(lay_out(PASSAGE))
    times[7] = START_S + float(lay_out(PASSAGE).seconds(lay_out(PASSAGE).notes[7].at)) + 0.09
    findings = check(times)
    assert findings.notes[7].verdict is Verdict.LATE
    assert not findings.notes[7].plain


def test_what_comes_back_in_every_repeat_is_plain() -> None:
    """A small lateness at the same place each time is a habit of reading, not chance."""
    score = lay_out(PASSAGE, Practice(repeats=3))
    times = times_of(score)
    for repeat in range(3):
        note = 20 * repeat + 7
        times[note] = START_S + float(score.seconds(score.notes[note].at)) + 0.09
    findings = check(times, score)
    assert [findings.notes[20 * repeat + 7].plain for repeat in range(3)] == [True] * 3


def test_an_uneven_player_is_told_so_once_and_not_note_by_note() -> None:
    """Whoever is uneven throughout has no single late note that is worth a word."""
    uneven = np.tile([0.0, 0.11, -0.11, 0.06, -0.06], 4)
    findings = check(times_of(lay_out(PASSAGE)) + uneven)
    assert findings.unsteady_s is not None
    assert findings.unsteady_s > 0.06
    assert sum(note.verdict in {Verdict.EARLY, Verdict.LATE} for note in findings.notes) >= 6
    assert not any(note.plain for note in findings.notes if note.played_s is not None)


def test_getting_faster_is_told_in_per_cent() -> None:
    """Positive is faster."""
    times = START_S + (times_of(lay_out(PASSAGE)) - START_S) / 1.02
    findings = check(times)
    assert findings.drift_percent == pytest.approx(2, abs=0.4)
    assert findings.tally.matched == 20


def test_running_away_from_a_click_is_followed_to_the_end() -> None:
    """Three per cent over a minute is more than a beat, and still one run through the passage."""
    score = lay_out(PASSAGE, Practice(repeats=4))
    findings = check(START_S + (times_of(score) - START_S) / 1.03, score)
    assert findings.tally.matched == 80
    assert findings.remarks == ()
    assert findings.drift_percent == pytest.approx(3, abs=0.3)


def test_getting_faster_without_a_click_is_the_second_half_against_the_first() -> None:
    """Where the speed was found there is nothing else to be faster than."""
    score = lay_out(PASSAGE, Practice(repeats=2))
    steady = times_of(score) - START_S
    times = START_S + steady - 0.0012 * steady**2
    findings = check(times, score, speed=None, start_s=None)
    assert findings.drift_percent is not None
    assert 2 < findings.drift_percent < 8


def test_everything_a_beat_late_is_one_shift_and_no_late_notes() -> None:
    """Looked for before anything is called missed."""
    findings = check(times_of(lay_out(PASSAGE)) + BEAT_S)
    assert findings.shift_beats == 1
    assert findings.tally.matched == 20
    assert {note.verdict for note in findings.notes} == {Verdict.IN_TIME}
    assert findings.notes[0].offset_s == pytest.approx(BEAT_S, abs=0.04)
    assert findings.remarks[0] == "everything came one beat late"


def test_a_shift_that_is_no_count_is_told_in_beats() -> None:
    """Neither a beat nor a half."""
    findings = check(times_of(lay_out(PASSAGE)) + 0.78 * BEAT_S)
    assert findings.shift_beats == 0.8
    assert findings.remarks[0] == "everything came about 0.8 beats late"


def test_a_start_far_from_the_playing_is_not_believed() -> None:
    """A wrong --start must not make every note late by a minute."""
    findings = check(times_of(lay_out(PASSAGE), 40.0))
    assert findings.start == "found"
    assert findings.tally.matched == 20
    assert findings.start_s == pytest.approx(40, abs=0.02)


def test_claps_that_belong_to_nothing_are_extras_with_their_place() -> None:
    """Bar 2, after its second beat."""
    extra = START_S + 4 * BEAT_S + 2.5 * BEAT_S
    findings = check(np.append(times_of(lay_out(PASSAGE)), extra))
    assert [(each.bar, each.count) for each in findings.extras] == [(2, "3&")]
    assert findings.tally.extra == 1
    assert findings.bars[1].extra == 1
    assert findings.tally.matched == 20


def test_only_the_answers_are_expected_of_the_player() -> None:
    """While listening nobody claps."""
    score = lay_out(PASSAGE, Practice(echo=2))
    findings = check(times_of(score), score)
    assert findings.tally.expected == findings.tally.matched == 20
    assert all(score.notes[note.note].role == "answer" for note in findings.notes)


def test_repeats_not_played_are_not_checked() -> None:
    """Two of three repeats: the third is not twenty missed notes."""
    score = lay_out(PASSAGE, Practice(repeats=3))
    findings = check(times_of(score)[:40], score)
    assert findings.tally.not_checked == 20
    assert findings.tally.missed == 0


def test_a_dotted_figure_played_even_is_named() -> None:
    """The mistake, not two late notes."""
    times = times_of(lay_out(PASSAGE))
    for note in (6, 16):
        times[note] -= BEAT_S / 4
    findings = check(times)
    assert {mistake.what for mistake in findings.mistakes} == {"dotted played even"}
    assert {mistake.bar for mistake in findings.mistakes} == {2, 4}
    assert all(6 in each.notes or 16 in each.notes for each in findings.mistakes)


def test_a_figure_turned_round_keeps_its_own_claps() -> None:
    """By time alone one note would be missed and one clap extra."""
    score = lay_out(
        passage(
            bar(1, 0, 1, "3/2", "7/4", 2, 3),
            bar(2, 0, "3/4", 1, 2, 3),
            bar(3, 0, "1/2", 1, 2, 3),
            tempo=60,
        )
    )
    times = times_of(score)
    times[2] -= 0.25
    times[3] -= 0.25
    findings = check(times, score)
    whats = [mistake.what for mistake in findings.mistakes]
    assert whats == ["eighth and two sixteenths turned round"]
    assert findings.tally.matched == len(times)
    assert findings.tally.extra == 0


@pytest.mark.parametrize(("note", "late_s", "verdict"), [(-1, 0.4, "late"), (0, -0.4, "early")])
def test_the_first_and_the_last_note_may_be_off_like_any_other(
    note: int, late_s: float, verdict: str
) -> None:
    """Half a beat late at the end is late, not missed."""
    times = times_of(lay_out(PASSAGE))
    times[note] += late_s
    findings = check(times)
    assert findings.notes[note].verdict == verdict
    assert findings.tally.matched == 20


def test_another_passage_is_not_this_one() -> None:
    """Nobody is told thirty mistakes in a piece they did not play."""
    rng = np.random.default_rng(3)
    times = np.cumsum(rng.choice([0.27, 0.41, 0.55, 0.9], 40)) + 1
    assert check(times, start_s=None).looks_like is False


def test_a_few_claps_allow_no_opinion() -> None:
    """Below twelve notes nothing can be told apart."""
    findings = check(times_of(lay_out(PASSAGE))[:6])
    assert findings.looks_like is None
    assert any("so few notes" in words for words in findings.remarks)


@pytest.mark.parametrize("speed", [1.0, None])
@pytest.mark.parametrize("start_s", [None, START_S])
def test_a_single_clap_is_a_thin_result_and_not_an_error(
    speed: float | None, start_s: float | None
) -> None:
    """One note heard is one note heard."""
    findings = check(np.array([START_S]), speed=speed, start_s=start_s)
    assert findings.tally.matched == 1
    assert findings.looks_like is None
    assert findings.drift_percent is None


def test_a_passage_of_one_note_can_be_checked() -> None:
    """An entry practised by itself."""
    score = lay_out(passage(bar(1, 0), tempo=60))
    assert check(np.array([3.0]), score, start_s=3.0).notes[0].verdict is Verdict.IN_TIME


def test_uncertain_onsets_make_wider_windows_and_say_so() -> None:
    """What cannot be heard finely is not judged finely."""
    score = lay_out(PASSAGE)
    sharp = check_take(score, take_of(times_of(score)), Settings(speed=1.0, start_s=START_S))
    soft = check_take(score, take_of(times_of(score), 0.02), Settings(speed=1.0, start_s=START_S))
    told = check_take(
        score,
        take_of(times_of(score)),
        Settings(speed=1.0, start_s=START_S, detector_uncertainty_s=0.02),
    )
    assert soft.notes[0].window_s > sharp.notes[0].window_s
    assert soft.uncertainty_s > sharp.uncertainty_s
    assert told.notes[0].window_s == pytest.approx(soft.notes[0].window_s)


def test_beside_a_recording_nothing_finer_than_its_beat_is_told() -> None:
    """Professionals on the beat stay within 82 ms of it, off the beat within 15 % of a beat."""
    score = lay_out(PASSAGE)
    wish = Settings(timing="recording", speed=1.0, start_s=START_S)
    windows = [note.window_s for note in check_take(score, take_of(times_of(score)), wish).notes]
    assert windows[0] == pytest.approx(0.082)
    assert windows[2] == pytest.approx(0.15 * BEAT_S)


def test_silence_is_said_in_one_sentence() -> None:
    """With what to try."""
    with pytest.raises(TakeError, match=r"nothing was heard in towpath\.txt: check"):
        check_take(lay_out(PASSAGE), take_of(np.array([])), Settings())


def test_a_passage_without_notes_cannot_be_checked() -> None:
    """Bars of rest have nothing to come late."""
    with pytest.raises(RequestError, match="no notes to play"):
        check_take(lay_out(passage(bar(1))), take_of(np.array([1.0])), Settings())


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        ({"timing": "rubato"}, "timing must be one of click, recording, free"),
        ({"start_s": float("nan")}, "start must be a number of seconds"),
        ({"speed": 0.0}, "speed must be more than 0"),
        ({"speed": float("inf")}, "speed must be more than 0"),
        ({"detector_uncertainty_s": -1.0}, "must be 0 seconds or more"),
    ],
)
def test_settings_that_nobody_can_mean_are_refused(wish: dict[str, object], words: str) -> None:
    """One sentence, before anything is heard."""
    with pytest.raises(RequestError, match=words):
        Settings(**wish)  # type: ignore[arg-type]


def test_free_playing_goes_another_way() -> None:
    """Nothing kept time, so the speed is read from the playing."""
    times = times_of(lay_out(PASSAGE, Practice(repeats=2)))
    findings = check_take(
        lay_out(PASSAGE, Practice(repeats=2)), take_of(times), Settings(timing="free")
    )
    assert findings.timing == "free"


def test_claps_of_the_count_in_and_after_the_end_are_not_too_many() -> None:
    """Clapping along with the count-in is what one does; applause for oneself is no fault."""
    times = times_of(lay_out(PASSAGE))
    around = np.concatenate([[0.4, 1.15], times, [times[-1] + 3 * BEAT_S]])
    assert check(around).extras == ()
    inside = check(np.concatenate([times, [START_S + 2.5 * BEAT_S]]))
    assert [(extra.bar, extra.count) for extra in inside.extras] == [(1, "3&")]
