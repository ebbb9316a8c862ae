"""Free playing over a recording: held against it only where the two must meet."""

from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from numpy.typing import NDArray

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.meeting.meeting import places_to_meet
from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.errors import RequestError
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat
from rhythmtrain.timing.beside_recording import on_recording
from rhythmtrain.timing.recorded_bars import map_passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out
from tests.simulate.passages import bar, passage
from tests.simulate.players import clapped
from tests.simulate.recorded_trials import START_S, accompanied, freely_beside, freely_entered

HALF = "unseen"
SCORE = passage(
    bar(1, 0, 1, "3/2", 2, 3),
    bar(2, 0, "1/2", 1, 2, 3),
    bar(3, 0, 2, "5/2", 3),
    bar(4),
    bar(5),
    bar(6, 1, "3/2", 2, 3),
    bar(7, 0, 1, "3/2", 2, 3),
    bar(8, 0, 1, 2),
    tempo=72,
)
STEPS_S = tuple(0.8 + 0.1 * np.sin(2 * np.pi * number / 10) for number in range(33))


def beside() -> Timeline:
    """Return the passage beside an accompanist who breathes."""
    times = 3.0 + np.concatenate(([0.0], np.cumsum(STEPS_S)))
    beats = BeatMap(
        tuple(
            MappedBeat(float(time), 1 + number // 4, 1 + number % 4)
            for number, time in enumerate(times)
        )
    )
    return on_recording(lay_out(SCORE, Practice()), map_passage(SCORE, beats))


TIMELINE = beside()
ENTRY = TIMELINE.entries[0].note


def times_of(*, entry_beats: float = 0.0) -> NDArray[np.float64]:
    """Return when the notes fall, those from the entry on so many beats later."""
    return np.array(
        [
            float(TIMELINE.seconds(note.at + Fraction(entry_beats if index >= ENTRY else 0)))
            for index, note in enumerate(TIMELINE.notes)
        ]
    )


def found(
    times: NDArray[np.float64], *, start_s: float | None = 5.0, meet: tuple[int, ...] = ()
) -> Findings:
    """Return what is found in a take of claps at ``times``, played freely."""
    take = Take("text", "a.txt", tuple(Heard(float(time)) for time in np.sort(times)), 90.0)
    return check_take(TIMELINE, take, Settings("recording", start_s, meet=meet))


def test_the_usual_places_are_entries_phrases_and_the_last_note() -> None:
    """Where a listener hears whether the two are together."""
    assert places_to_meet(TIMELINE) == (0, ENTRY, len(TIMELINE.notes) - 1)


def test_the_drill_s_bars_are_met_on_their_first_note() -> None:
    """Bar 6 begins after a rest; bar 4 has nothing to meet with."""
    places = places_to_meet(TIMELINE, (2, 4, 6))
    assert [(TIMELINE.notes[n].note.bar, TIMELINE.notes[n].note.count) for n in places] == [
        (2, "1"),
        (6, "2"),
    ]


def test_what_floats_between_two_meetings_is_no_fault() -> None:
    """A third of a beat behind in the middle of the phrase, and together again."""
    times = times_of()
    along = np.linspace(0, 1, ENTRY)
    times[:ENTRY] += 0.27 * np.sin(np.pi * along)
    times[ENTRY - 1] = times_of()[ENTRY - 1]
    findings = found(times + 5)
    assert not any(note.plain for note in findings.notes)
    assert findings.tally.missed == 0
    assert findings.timing == "recording"


def test_a_meeting_that_is_missed_is_told() -> None:
    """A fifth of a second late on the last note, which the recording has alone by then."""
    times = times_of()
    times[-1] += 0.35
    last = found(times + 5).notes[-1]
    assert last.meets
    assert last.verdict is Verdict.LATE
    assert last.plain


@pytest.mark.parametrize(
    ("half", "manner", "number"),
    [
        ("tune", "expressive", 910_009),
        ("tune", "expressive", 910_003),
        ("unseen", "steady", 910_067),
    ],
)
def test_who_comes_in_with_the_pianist_is_in_time_however_the_tune_floats(
    half: str, manner: str, number: int
) -> None:
    """A tune that floats behind can pass for a habit; an entry on the recording is right beside it."""
    take = accompanied(half, number, manner=manner, notes=24, rests=(2, 3))
    times = take.floating(0.3, np.zeros(len(take.written.at))) + START_S
    settings = Settings("recording", START_S, meet=())
    heard = check_take(take.timeline, clapped(times).take(), settings)
    entry = heard.entries[-1]
    assert entry.offset_s == pytest.approx(0.0, abs=0.04)
    assert entry.verdict == Verdict.IN_TIME
    assert heard.notes[take.timeline.entries[-1].note].verdict is Verdict.IN_TIME


def met_s(findings: Findings) -> list[float | None]:
    """Return the offsets of the notes that must meet the recording, then those of the entries."""
    met = [note.offset_s for note in findings.notes if note.meets]
    return met + [entry.offset_s for entry in findings.entries]


@settings(max_examples=10, deadline=None)
@given(st.floats(-0.2, 0.2))
def test_a_take_so_much_later_meets_so_much_later(by_s: float) -> None:
    """Only what floats is free; where they meet, every millisecond is told."""
    once, later = found(times_of() + 5), found(times_of() + 5 + by_s)
    for before, after in zip(met_s(once), met_s(later), strict=True):
        assert before is not None
        assert after == pytest.approx(before + by_s, abs=1e-6)


@pytest.mark.parametrize(
    ("beats", "words"),
    [
        (0.0, "in time"),
        (-1.0, "one beat early"),
        (1.0, "one beat late"),
        (-4.0, "one bar early"),
        (-0.5, "half a beat early"),
    ],
)
def test_an_entry_is_held_against_the_accompanist(beats: float, words: str) -> None:
    """However freely it is played, it belongs in one place."""
    entry = found(times_of(entry_beats=beats) + 5).entries[0]
    assert entry.verdict == words
    assert entry.offset_beats == pytest.approx(beats, abs=0.02)


def test_a_late_first_note_alone_is_late_and_no_miscount() -> None:
    """The notes after it are together with the piano."""
    times = times_of() + 5
    times[ENTRY] += 0.2
    assert found(times).entries[0].verdict == "late"


def test_without_a_start_it_is_found_by_the_meetings() -> None:
    """And then whether all of it was late cannot be told, which is said."""
    findings = found(times_of() + 40, start_s=None)
    assert findings.start == "found"
    assert findings.start_s == pytest.approx(40, abs=0.01)
    assert any("where bar 1 begins was found" in remark for remark in findings.remarks)


def test_a_take_that_meets_nowhere_is_only_freely_read() -> None:
    """The bars named were not played."""
    findings = found(times_of()[: ENTRY - 1] + 5, meet=(8,))
    assert any("none of the places" in remark for remark in findings.remarks)
    assert not any(note.meets for note in findings.notes)


@pytest.mark.parametrize("speed", [0.5, 0.6, 0.8, 1.25])
@pytest.mark.parametrize("start_s", [5.0, None])
def test_who_played_to_a_slowed_recording_and_did_not_say_so_is_not_late(
    speed: float, start_s: float | None
) -> None:
    """Held against the recording's own speed all entries would be bars late: the speed is told."""
    times = 5.0 + (times_of() - times_of()[0]) / speed
    take = Take("text", "a.txt", tuple(Heard(float(time)) for time in times), 190.0)
    settings = Settings("recording", start_s, speed=None, meet=())
    findings = check_take(TIMELINE, take, settings)
    assert findings.speed == pytest.approx(speed, rel=0.03)
    assert any(f"about {speed:g} of the recording's speed" in each for each in findings.remarks)
    assert not any(note.plain for note in findings.notes)
    assert {entry.verdict for entry in findings.entries} <= {"in time", "not checked"}


def test_at_its_own_speed_the_recording_is_met_without_a_word_of_it() -> None:
    """Who says nothing means the recording as it is."""
    take = Take("text", "a.txt", tuple(Heard(float(time)) for time in times_of() + 5), 90.0)
    findings = check_take(TIMELINE, take, Settings("recording", 5.0, speed=None, meet=()))
    assert findings.speed == 1.0
    assert any(note.meets for note in findings.notes)
    assert findings.entries[0].verdict == "in time"


def test_places_to_meet_need_a_recording() -> None:
    """Beside a click every beat is one."""
    with pytest.raises(RequestError, match="beside a recording"):
        Settings("click", meet=())


@pytest.mark.parametrize("manner", ["steady", "expressive"])
def test_honest_players_who_float_are_hardly_ever_blamed(manner: str) -> None:
    """Up to four tenths of a beat between the meetings; at most one plain word in 200 notes."""
    plain, in_time, missed, _ = freely_beside(HALF, 3, manner=manner, floats=0.4)
    assert plain <= 0.5
    assert in_time >= 96
    assert missed <= 1


def test_entries_of_players_who_float_are_put_in_the_right_class() -> None:
    """Half a beat, a beat, a bar out; a beat late is found as surely as a beat early."""
    rates = freely_entered(HALF, 4, manner="steady", floats=0.3)
    assert rates["right"] == rates["in time"] == 1
    assert rates["one beat late"] == rates["one beat early"] == 1
    assert np.mean(list(rates.values())) >= 0.9


def test_without_a_start_the_first_phrase_is_what_the_second_is_held_against() -> None:
    """One beat early at bar 6 is not one beat late at bar 1, however many notes come after it."""
    findings = found(times_of(entry_beats=-1.0) + 40, start_s=None, meet=(1, 6, 7, 8))
    assert findings.start_s == pytest.approx(40, abs=0.02)
    assert findings.entries[0].verdict == "one beat early"
    assert not any(note.plain for note in findings.notes)


def test_the_entry_that_told_the_start_is_not_judged_by_it() -> None:
    """Whoever plays only from an entry on is told what is missing to judge that entry."""
    findings = found(times_of()[ENTRY:] + 40, start_s=None)
    assert findings.entries[0].verdict == Verdict.NOT_CHECKED
    assert any("how you came in in bar 6 can be told" in remark for remark in findings.remarks)
    assert found(times_of()[ENTRY:] + 5).entries[0].verdict == "in time"
