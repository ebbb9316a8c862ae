"""A take held against a recorded accompanist, who breathes, through a map that is not certain."""

from dataclasses import replace
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.wrong_cue import same_cues
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat
from rhythmtrain.timing.beside_recording import on_recording
from rhythmtrain.timing.recorded_bars import map_passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from tests.simulate.passages import bar, passage
from tests.simulate.players import clapped
from tests.simulate.recorded_trials import accompanied, entries_beside, honest_beside

HALF = "unseen"
# Two bars, three bars of rest, two bars.
SCORE = passage(
    bar(1, 0, 1, 2, "5/2", 3),
    bar(2, 0, "1/2", 1, 2),
    bar(3),
    bar(4),
    bar(5),
    bar(6, 1, "3/2", 2, 3),
    bar(7, 0, 1, "3/2", 3),
    tempo=72,
)
# The accompanist slows down and hurries on by a seventh, every two bars.
STEPS_S = tuple(0.8 + 0.12 * np.sin(2 * np.pi * number / 8) for number in range(29))


def breathing(*, unsure: float | None = None, speed: float = 1.0) -> Timeline:
    """Return the passage beside an accompanist who breathes."""
    times = 3.0 + np.concatenate(([0.0], np.cumsum(STEPS_S)))
    beats = BeatMap(
        tuple(
            MappedBeat(float(time), 1 + number // 4, 1 + number % 4, unsure)
            for number, time in enumerate(times)
        )
    )
    return on_recording(lay_out(SCORE, Practice(speed=speed)), map_passage(SCORE, beats))


def times_of(timeline: Timeline, *, entry_beats: float = 0.0) -> NDArray[np.float64]:
    """Return when the notes fall, those from the entry on so many beats later."""
    entry = timeline.entries[0].note
    return np.array(
        [
            float(timeline.seconds(note.at + Fraction(entry_beats if index >= entry else 0)))
            for index, note in enumerate(timeline.notes)
        ]
    )


def found(
    timeline: Timeline, times: NDArray[np.float64], *, start_s: float | None, speed: float = 1.0
) -> Findings:
    """Return what is found in a take of claps at ``times``."""
    take = Take("text", "a.txt", tuple(Heard(float(time)) for time in times), 90.0)
    return check_take(timeline, take, Settings("recording", start_s, speed))


def offsets_s(findings: Findings) -> list[float | None]:
    """Return the offsets of the notes, then those of the entries."""
    return [note.offset_s for note in findings.notes] + [e.offset_s for e in findings.entries]


@settings(max_examples=12, deadline=None)
@given(st.floats(-0.12, 0.12))
def test_a_take_so_much_later_is_reported_so_much_later(by_s: float) -> None:
    """The accompanist does not wait, so nothing of a lateness is explained away."""
    timeline = breathing()
    once = found(timeline, times_of(timeline) + 5, start_s=5.0)
    later = found(timeline, times_of(timeline) + 5 + by_s, start_s=5.0)
    for before, after in zip(offsets_s(once), offsets_s(later), strict=True):
        assert before is not None
        assert after == pytest.approx(before + by_s, abs=1e-6)


@pytest.mark.parametrize("beats", [0.0, -1.0, 1.0, -0.5, -4.0])
def test_at_half_speed_the_same_take_has_the_same_result_in_beats(beats: float) -> None:
    """The recording was slowed down and everything with it."""
    results = []
    for speed in (1.0, 0.5):
        timeline = breathing(speed=speed)
        times = times_of(timeline, entry_beats=beats) + 5
        entry = found(timeline, times, start_s=5.0, speed=speed).entries[0]
        results.append((entry.verdict, entry.offset_beats))
    (full, in_full), (half, in_half) = results
    assert full == half
    assert in_full == pytest.approx(in_half, abs=1e-6)
    assert in_full == pytest.approx(beats, abs=0.01)


@pytest.mark.parametrize(
    ("beats", "words"),
    [
        (-1.0, "one beat early"),
        (1.0, "one beat late"),
        (-4.0, "one bar early"),
        (8.0, "two bars late"),
    ],
)
def test_a_count_out_is_told_in_the_accompanist_s_beats(beats: float, words: str) -> None:
    """A bar early is a bar of *that* bar's beats, which were not as long as this one's."""
    timeline = breathing()
    findings = found(timeline, times_of(timeline, entry_beats=beats) + 5, start_s=5.0)
    assert findings.entries[0].verdict == words
    assert not any(note.plain for note in findings.notes)


def test_the_doubt_of_the_map_is_in_every_number() -> None:
    """Where the beats are known to 60 ms, nobody is told that they were 100 ms late."""
    sure, unsure = breathing(unsure=0.005), breathing(unsure=0.06)
    times = times_of(sure) + 5
    times[3] += 0.16
    known, doubted = (found(each, times, start_s=5.0) for each in (sure, unsure))
    assert known.notes[3].verdict is Verdict.LATE
    assert doubted.notes[3].verdict is Verdict.IN_TIME
    assert doubted.uncertainty_s > known.uncertainty_s
    pairs = zip(known.notes, doubted.notes, strict=True)
    assert all(wide.window_s > narrow.window_s for narrow, wide in pairs)


def test_nothing_is_flagged_below_what_professionals_do_beside_a_recording() -> None:
    """80 ms on the beat and 14 % of a beat off it are theirs too."""
    timeline = breathing()
    times = times_of(timeline) + 5
    beside = [0.08 if note.at.denominator == 1 else 0.14 * 0.68 for note in timeline.notes]
    signs = np.array([(0, 1, 0, 0, -1)[number % 5] for number in range(len(times))])
    findings = found(timeline, times + signs * np.array(beside), start_s=5.0)
    assert {note.verdict for note in findings.notes} == {Verdict.IN_TIME}


def test_a_take_may_begin_anywhere_in_the_recording() -> None:
    """A phone that was started late, or a player who practises the end alone."""
    timeline = breathing()
    times = times_of(timeline)
    entry = timeline.entries[0].note
    findings = found(timeline, times[entry - 4 :] + 40, start_s=None)
    assert findings.start == "found"
    assert findings.start_s == pytest.approx(40, abs=0.05)
    assert findings.tally.matched == len(times) - entry + 4
    assert findings.entries[0].verdict == "in time"


def test_two_tries_beside_the_same_recording_are_two_tries() -> None:
    """The recording was begun again, and so was the take."""
    timeline = breathing()
    times = times_of(timeline)
    findings = found(timeline, np.concatenate((times[:7] + 5, times + 25)), start_s=None)
    assert len(findings.tries) == 2
    assert findings.tries[findings.shown].complete


def test_a_round_share_of_the_speed_is_found_and_keeps_time() -> None:
    """Recordings are slowed to round shares, so what was found near one is that."""
    timeline, slow = breathing(), breathing(speed=0.6)
    take = clapped(times_of(slow) * 1.004 + 5).take()
    findings = check_take(timeline, take, Settings("recording", None, None))
    assert findings.speed == pytest.approx(0.6)
    assert findings.tempo_found


def cued(*cue_bars: int) -> Timeline:
    """Return a passage with ten bars of rest and one same cue in each of ``cue_bars``."""
    lengths = [bar(1, 0, 1, 2, 3), bar(2, 0, "1/2", 2)]
    lengths += [bar(number) for number in range(3, 13)]
    lengths += [bar(13, 0, "3/2", 2, 3), bar(14, 0, 1, "3/2", 3)]
    cue = tuple(
        bar(each.number, *((0, "1/2", 1, 2) if each.number in cue_bars else ())) for each in lengths
    )
    return lay_out(passage(*lengths, tempo=72, cue=cue))


@pytest.mark.parametrize("wrong", [5, 8, 11])
def test_whoever_came_in_after_the_wrong_cue_is_told_so(wrong: int) -> None:
    """The same figure comes twice; the player followed the first one."""
    timeline = cued(wrong, 12)
    beats = 4 * (wrong - 12)
    findings = found(timeline, times_of(timeline, entry_beats=beats) + 5, start_s=5.0)
    entry = findings.entries[0]
    assert entry.wrong_cue == wrong + 1
    assert entry.offset_beats == pytest.approx(beats, abs=0.05)
    assert entry.verdict.endswith("early")


def test_in_time_and_a_beat_early_are_no_wrong_cue() -> None:
    """A cue is blamed only where there is one."""
    timeline = cued(8, 12)
    for beats in (0.0, -1.0):
        times = times_of(timeline, entry_beats=beats) + 5
        assert found(timeline, times, start_s=5.0).entries[0].wrong_cue is None


def test_what_comes_all_the_time_is_no_cue() -> None:
    """An accompaniment of one figure in every bar says nothing about where to come in."""
    assert not same_cues(cued(*range(3, 13)))
    assert not same_cues(cued(12))
    assert not same_cues(replace(cued(12), cues=()))


@pytest.mark.parametrize("manner", ["steady", "expressive"])
def test_honest_players_beside_a_recording_are_hardly_ever_blamed(manner: str) -> None:
    """A false "late" to a good player is the worst fault: at most one plain word in 200 notes."""
    plain, in_time, missed = honest_beside(HALF, 8, manner=manner, given=True)
    assert plain <= 0.5
    assert in_time >= 96
    assert missed <= 1


def test_entries_beside_a_recording_are_put_in_the_right_class() -> None:
    """Half a beat, a beat, a bar out, beside accompanists who breathe as soloists do."""
    rates = entries_beside(HALF, 5, manner="expressive")
    assert rates["right"] == 1
    assert min(rates.values()) >= 0.8


def test_the_start_of_a_simulated_take_is_found_beside_a_recording() -> None:
    """Within what an honest lead leaves."""
    take = accompanied(HALF, 3, manner="steady", notes=40)
    findings = take.judged(clapped(take.honest() + 5.0))
    assert findings.start_s == pytest.approx(5.0, abs=0.09)
