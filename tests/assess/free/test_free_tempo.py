"""Free playing: wrong rhythm told from free tempo, and nothing said of an honest player."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.assess.free.check import free_findings
from rhythmtrain.assess.free.mistakes import mistakes_known
from rhythmtrain.assess.free.walk import (
    Manner,
    Row,
    filter_for,
    fit,
    note_noise,
    roughness,
)
from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.timing.timeline import Practice
from tests.simulate.free_takes import LEADS_IN_S, Floats, breathing, freely, take_of, timeline

LAID = timeline()


def found(times: Floats, start_s: float | None = None) -> Findings:
    """Return the findings of claps at ``times``."""
    return free_findings(LAID, take_of(times), start_s=start_s)


def whats(findings: Findings) -> set[tuple[str, int]]:
    """Return the (name, bar) of every mistake."""
    return {(mistake.what, mistake.bar) for mistake in findings.mistakes}


def test_an_honest_player_whose_tempo_breathes_hears_of_no_fault() -> None:
    """A false "late" to a good player is the worst fault the tool can have."""
    heard = found(freely(LAID))
    assert not heard.mistakes
    assert {note.verdict for note in heard.notes} == {Verdict.IN_TIME}
    assert heard.tally.matched == len(LAID.notes)
    assert heard.looks_like is True
    assert not heard.extras


@pytest.mark.parametrize(
    ("what", "bar"),
    [
        ("dotted played even", 2),
        ("even played dotted", 1),
        ("syncopation moved to the beat", 3),
        ("triplet as eighth and two sixteenths", 4),
        ("eighth and two sixteenths as triplet", 8),
        ("rest one beat short", 5),
        ("rest one beat long", 5),
    ],
)
def test_a_figure_played_as_another_is_named_where_it_stands(what: str, bar: int) -> None:
    """The player hears which figure it was and how it sounded, not "late" note by note."""
    heard = found(freely(LAID, wrong=what, bars=(bar,)))
    assert whats(heard) == {(what, bar)}
    assert heard.tally.matched == len(LAID.notes)


def test_a_figure_played_wrongly_everywhere_is_one_habit() -> None:
    """Whoever evens out every dotted figure is told so once, with how often."""
    heard = found(freely(LAID, wrong="dotted played even"))
    assert [(mistake.what, mistake.times, mistake.of) for mistake in heard.mistakes] == [
        ("dotted played even", 4, 4)
    ]
    assert heard.mistakes[0].bar == 2
    first = heard.notes[heard.mistakes[0].notes[0]]
    assert (first.bar, first.count) == (2, heard.mistakes[0].count)


def test_the_moved_note_is_off_by_as_much_as_the_figure_moves_it() -> None:
    """The offset beside the mistake is that of the note, and its neighbours stay in time."""
    heard = found(freely(LAID, wrong="dotted played even", bars=(2,)))
    wrong = [note for note in heard.notes if note.bar == 2 and note.count in {"1a", "3a"}]
    quarter = 60 / 72
    for note in wrong:
        assert note.verdict is Verdict.EARLY
        assert note.offset_s == pytest.approx(-quarter / 4, abs=0.05)
    others = [note for note in heard.notes if note not in wrong]
    assert {note.verdict for note in others} == {Verdict.IN_TIME}


@settings(max_examples=8, deadline=None)
@given(stretch=st.floats(0.55, 1.9), shift=st.floats(0.0, 30.0))
def test_playing_slower_or_later_changes_nothing(stretch: float, shift: float) -> None:
    """The tempo is the player's own, and so is when to begin."""
    times = freely(LAID, wrong="syncopation moved to the beat", bars=(3,))
    plain, other = found(times), found(times * stretch + shift)
    assert whats(other) == whats(plain) == {("syncopation moved to the beat", 3)}
    assert [note.verdict for note in other.notes] == [note.verdict for note in plain.notes]
    assert other.speed * stretch == pytest.approx(plain.speed, rel=1e-6)
    assert other.start_s == pytest.approx(plain.start_s * stretch + shift, abs=0.05)


def test_the_start_and_the_speed_are_found() -> None:
    """The report says where bar 1 began and how fast it went."""
    heard = found(freely(LAID) * 0.8)
    first = float(LAID.seconds(LAID.notes[0].at))
    assert heard.start == "found"
    assert heard.start_s == pytest.approx(freely(LAID)[0] * 0.8 - first, abs=0.1)
    assert heard.speed == pytest.approx(1.25, rel=0.05)


def test_with_a_start_given_what_came_before_is_not_the_passage() -> None:
    """Clapping a count-in, or trying a bar, before the start is nobody's fault."""
    times = freely(LAID) + 10
    start = float(times[0])
    heard = found(np.concatenate((times[:6] - 8, times)), start_s=start)
    assert (heard.start, heard.start_s) == ("given", start)
    assert len(heard.tries) == 1


def test_a_note_by_itself_far_out_is_late_and_its_neighbours_are_not() -> None:
    """One late note is one late note."""
    times = freely(LAID)
    alone = next(n for n, note in enumerate(LAID.notes) if note.note.bar == 9) + 1
    times[alone] += 0.42
    heard = found(times)
    late = [note for note in heard.notes if note.verdict is not Verdict.IN_TIME]
    assert [(note.note, note.verdict) for note in late] == [(alone, Verdict.LATE)]
    assert late[0].offset_s == pytest.approx(0.42, abs=0.08)


def test_a_breath_between_phrases_is_no_fault() -> None:
    """A third of a second to breathe is how people make music."""
    times = freely(LAID)
    opening = next(number for number, note in enumerate(LAID.notes) if note.note.bar == 4)
    times[opening:] += 0.3
    heard = found(times)
    assert not heard.mistakes
    assert {note.verdict for note in heard.notes} == {Verdict.IN_TIME}


def test_a_pause_sign_may_last_as_long_as_one_likes() -> None:
    """Nobody counts a fermata."""
    text = "1 2 & 3 4 | 1 & 2 3 4 | 1 2 3 4 | pause 1 & 2 3 4 | 1 & 2 3 4 | 1 & 2 & 3 4 | 1 2 3"
    laid = timeline(text)
    times = freely(laid)
    opening = next(number for number, note in enumerate(laid.notes) if note.note.bar == 4)
    times[opening:] += 1.7
    heard = free_findings(laid, take_of(times))
    assert not heard.mistakes
    assert {note.verdict for note in heard.notes} == {Verdict.IN_TIME}


def test_repeats_are_counted_by_their_place() -> None:
    """The same place wrong in both of two repeats is one mistake, twice of twice."""
    laid = timeline(practice=Practice(repeats=2))
    heard = free_findings(laid, take_of(freely(laid, wrong="dotted played even", bars=(2,))))
    told = [(m.bar, m.count, m.times, m.of) for m in heard.mistakes]
    assert told == [(2, "1", 2, 2), (2, "3", 2, 2)]
    heard = free_findings(laid, take_of(freely(laid, wrong="even played dotted", bars=(1,))))
    assert [(m.bar, m.times, m.of) for m in heard.mistakes] == [(1, 2, 2)]


def test_silence_and_a_passage_without_notes_are_said_so() -> None:
    """Each in one sentence that says what to look at."""
    with pytest.raises(TakeError, match=r"nothing was heard in a\.txt"):
        found(np.array([]))
    with pytest.raises(RequestError, match="no notes to play"):
        free_findings(timeline("rest 2"), take_of(np.array([1.0])))
    with pytest.raises(TakeError, match="belongs to the passage"):
        found(np.arange(0.0, 120.0, 10.0, dtype=np.float64))


def test_a_few_notes_are_a_thin_result_and_no_error() -> None:
    """Three notes of many are reported for what they are."""
    for count in (1, 2, 3):
        heard = found(freely(LAID)[:count])
        assert heard.tally.matched == count
        assert heard.tally.missed == 0
        assert heard.looks_like is None
        assert any("so few notes" in remark for remark in heard.remarks)


def test_getting_faster_is_positive() -> None:
    """The sign that a player reads."""
    times = freely(LAID)
    faster = LEADS_IN_S + (1 - np.exp(-(times - LEADS_IN_S) / 150)) * 150
    assert (found(faster).drift_percent or 0) > (found(times).drift_percent or 0)
    slower = LEADS_IN_S + (np.exp((times - LEADS_IN_S) / 150) - 1) * 150
    assert (found(slower).drift_percent or 0) < (found(times).drift_percent or 0)


def row(times: Floats) -> Row:
    """Return a plain row of quarters played at ``times``."""
    count = len(times)
    places = np.arange(count, dtype=float)
    return Row(places * 0.6, places, times, np.zeros(count), np.ones(count))


def test_the_filter_gives_the_generalised_least_squares_of_the_whole_model() -> None:
    """Against the textbook: Q from the full covariance with the line projected out."""
    rng = np.random.default_rng(11)
    played = row(np.cumsum(rng.uniform(0.4, 0.8, 24)))
    manner = Manner(0.1, 0.7)
    gains = filter_for(played, manner)
    shape = rng.normal(size=24)
    ours = gains.apply(shape) @ gains.apply(played.played_s)
    u, step = played.units, 0.6
    low = np.minimum(u[:, None], u[None, :])
    high = np.maximum(u[:, None], u[None, :])
    walk = (manner.tempo_spread * played.stretch * step) ** 2 * (low**2 * (3 * high - low) / 6)
    cover = walk + np.diag((manner.noise_scale * note_noise(played)) ** 2)
    inverse = np.linalg.inv(cover)
    line = np.stack((np.ones(24), played.written_s), axis=1)
    fixed = inverse @ line
    precision = inverse - fixed @ np.linalg.inv(line.T @ fixed) @ fixed.T
    assert ours == pytest.approx(shape @ precision @ played.played_s, rel=1e-3, abs=1e-2)


def test_how_freely_someone_plays_is_fitted_within_limits() -> None:
    """Left free, a mistake would explain itself as freedom."""
    rng = np.random.default_rng(5)
    steady = np.arange(60) * 0.6 + rng.normal(0, 0.012, 60)
    tempo = 0.6 * np.exp(np.cumsum(rng.normal(0, 0.3, 60)) * 0.5)
    assert fit(row(steady)) == Manner(0.05, 0.5)
    assert fit(row(np.cumsum(tempo))).tempo_spread == 0.15


def test_roughness_never_makes_the_limit_lower() -> None:
    """A very even player is not judged more strictly; an uneven one is allowed more."""
    rng = np.random.default_rng(6)
    parts = rng.normal(size=400)
    assert roughness(parts * 0.2) == 1.0
    assert roughness(parts) == pytest.approx(1.0, abs=0.05)
    assert roughness(parts * 2) == pytest.approx(4 / (1 + np.sqrt(2 / 398)), rel=0.1)
    assert roughness(parts[:2]) == 1.0


def test_known_times_use_the_same_table() -> None:
    """Beside a click the same figures have the same names."""
    times = np.array([float(LAID.seconds(note.at)) for note in LAID.notes])
    rng = np.random.default_rng(8)
    offsets = rng.normal(-0.04, 0.02, len(times))
    assert mistakes_known(LAID, offsets.tolist()) == ()
    dotted = next(
        number
        for number, note in enumerate(LAID.notes)
        if (note.note.bar, note.note.count) == (2, "1a")
    )
    offsets[dotted] -= 60 / 72 / 4
    (mistake,) = mistakes_known(LAID, offsets.tolist())
    assert (mistake.what, mistake.bar, mistake.count) == ("dotted played even", 2, "1")
    assert mistakes_known(LAID, (offsets * 2).tolist(), speed=0.5)[0].what == mistake.what
    offsets[dotted] = np.nan
    assert mistakes_known(LAID, offsets.tolist()) == ()
    assert mistakes_known(LAID, [np.nan] * len(offsets)) == ()


def test_a_habit_too_small_to_see_once_is_seen_over_many_places() -> None:
    """Even eighths that lean towards a swing everywhere are told once, and once is not told."""
    laid = timeline("1 & 2 & 3 & 4 & |" * 6 + "1 2 3 4 |" * 3 + "1", tempo=152)
    at = np.array([float(note.at) for note in laid.notes])
    late = np.where((at % 1 == 0.5) & (at < 24), 0.75 / 6, 0.0)
    rng = np.random.default_rng(4)
    noise = rng.normal(0, 0.008, len(at))
    leaning = free_findings(laid, take_of(breathing(laid, at + late, depth=0.02) + noise))
    assert [mistake.what for mistake in leaning.mistakes] == ["even played swung"]
    assert leaning.mistakes[0].times >= 20
    assert leaning.mistakes[0].of == 24
    once = np.where(at == 8.5, 0.8 * late, 0.0)
    assert not free_findings(laid, take_of(breathing(laid, at + once, depth=0.02))).mistakes


def test_a_long_breath_is_a_breath() -> None:
    """What follows a wait is as right as ever, and the wait is not a late note."""
    laid = timeline("1 & 2 & 3 & 4 & |" * 6 + "1 2 3 4 |" * 3 + "1")
    times = freely(laid)
    times[16:] += 0.45
    heard = free_findings(laid, take_of(times))
    assert {note.verdict for note in heard.notes} == {Verdict.IN_TIME}
