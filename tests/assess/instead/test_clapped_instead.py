"""The beat clapped in place of the rhythm is told as what it is; an attempt at the rhythm never."""

from dataclasses import replace
from fractions import Fraction
from functools import cache

import numpy as np
import pytest

from rhythmtrain.assess.check import check_take
from rhythmtrain.assess.clapped_rows import Row
from rhythmtrain.assess.findings import Findings
from rhythmtrain.assess.instead.evidence import Laid, least_evidence, ticks
from rhythmtrain.assess.settings import Settings
from rhythmtrain.assess.written import written_of
from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.timing.timeline import Timeline, lay_out
from tests.simulate.heard import passage_of
from tests.simulate.instead_trials import (
    ATTEMPTS,
    KNOWN,
    START_S,
    Player,
    beat_clapped,
    drawn,
    drifting_beat,
    heard,
)
from tests.simulate.players import careless, clapped, noisy
from tests.simulate.rhythms import even_passage

TIES, DOTTED, RAG, SIX, ENTRY = (
    "18-tie-over-the-beat", "07-dotted-quarters", "29-towpath-rag", "06-rolling-six",
    "28-towpath-entry",
)  # fmt: skip
ALL_KNOWN = Settings(speed=1.0, start_s=START_S)


@cache
def timeline_of(name: str) -> Timeline:
    """Return a supplied drill, laid out."""
    return lay_out(find_passage(name))


def in_row(name: str, row: Row, settings: Settings = ALL_KNOWN) -> Findings:
    """Return what is found where ``row`` was clapped through a supplied drill."""
    timeline = timeline_of(name)
    claps = beat_clapped(np.random.default_rng(11), timeline, row)
    return check_take(timeline, claps.take(), settings)


@pytest.mark.parametrize("name", [TIES, DOTTED, RAG, SIX])
def test_the_beat_clapped_along_is_told_and_is_no_take_of_the_passage(name: str) -> None:
    """The commonest mistake of a beginner; it must count neither for nor against the rhythm."""
    found = in_row(name, Row.BEAT)
    assert found.instead is not None
    assert (found.instead.row, found.instead.sure) == (Row.BEAT, True)
    assert found.looks_like is False


@pytest.mark.parametrize(
    "settings", [Settings(speed=1.0), Settings(speed=None), Settings("free", speed=None)]
)
def test_it_is_told_where_nobody_knows_start_or_tempo(settings: Settings) -> None:
    """A phone's recording tells neither; whoever plays freely claps the beat as well."""
    timeline = timeline_of(TIES)
    claps = drifting_beat(np.random.default_rng(3), timeline)
    if settings.speed is not None:
        claps = beat_clapped(np.random.default_rng(3), timeline)
    found = check_take(timeline, claps.take(), settings)
    assert found.instead is not None
    assert found.instead.row is Row.BEAT


def test_a_tempo_found_by_the_beat_is_the_one_that_is_told() -> None:
    """The rhythm followed through even claps asks for any tempo; the beat knows its own."""
    claps = beat_clapped(np.random.default_rng(5), timeline_of(RAG))
    slow = clapped(claps.times_s / 0.8)
    found = check_take(timeline_of(RAG), slow.take(), Settings(speed=None))
    assert found.speed == pytest.approx(0.8, rel=0.03)


@pytest.mark.parametrize(
    ("name", "row"),
    [(RAG, Row.SPLIT), (TIES, Row.OTHER), (ENTRY, Row.CUE)],
)
def test_other_rows_have_their_own_name(name: str, row: Row) -> None:
    """Every eighth, every other beat, and what the accompanist plays are other slips."""
    timeline = timeline_of(name)
    claps = beat_clapped(np.random.default_rng(2), timeline, row)
    found = check_take(timeline, claps.take(), ALL_KNOWN)
    assert found.instead is not None
    assert found.instead.row is row


def test_the_bars_named_are_those_in_which_the_rhythm_is_another() -> None:
    """Bar 7 is all beats: nobody is sent there to learn what is not the beat."""
    found = in_row(DOTTED, Row.BEAT).instead
    assert found is not None
    assert found.bars == (1, 2, 3, 4, 5, 6, 8)


def test_steady_quarters_are_never_called_the_beat() -> None:
    """There the beat *is* the rhythm, however badly it is clapped."""
    timeline = lay_out(even_passage(8, 80))
    rng = np.random.default_rng(1)
    times = written_of(timeline).times_s + START_S
    claps = careless(rng, clapped(times + rng.normal(0, 0.03, len(times))), missed=0.3, extra=0.1)
    assert check_take(timeline, claps.take(), ALL_KNOWN).instead is None


@pytest.mark.parametrize("speed", [0.45, 0.5, 0.75, 1.5, 2.0])
@pytest.mark.parametrize("step", [Fraction(1, 2), Fraction(1), Fraction(2)])
def test_an_even_rhythm_at_another_tempo_is_not_another_row(step: Fraction, speed: float) -> None:
    """Nobody said how fast: steady quarters at half speed are what was asked, not every other beat."""
    timeline = lay_out(even_passage(8, 80, step=step))
    rng = np.random.default_rng(6)
    for many in (8, 10, 16):
        times = written_of(timeline).times_s[:many] / speed + rng.normal(START_S, 0.015, many)
        found = check_take(timeline, clapped(times).take(), Settings(speed=None))
        assert found.instead is None


@pytest.mark.parametrize("seed", [2, 11])
def test_even_notes_of_which_many_are_missing_are_no_shorter_row(seed: int) -> None:
    """Every eighth at double speed is over in half the take: the half in which least is missing."""
    timeline = lay_out(passage_of("1 e & a 2 e & a |" * 4, "2/4", tempo=60))
    rng = np.random.default_rng(seed)
    times = noisy(rng, written_of(timeline).times_s + START_S, fixed_s=0.02)
    claps = careless(rng, clapped(times), missed=0.25, extra=0.0)
    assert check_take(timeline, claps.take(), Settings(speed=None)).instead is None


@pytest.mark.parametrize("known", KNOWN)
@pytest.mark.parametrize("kind", ATTEMPTS)
def test_no_attempt_is_taken_for_the_beat(kind: str, known: str) -> None:
    """Who tries and misses half must not be told that they did not try."""
    for number in range(70_000, 70_001 if known == "tempo unknown" else 70_003):
        found = heard(drawn("unseen", number), ATTEMPTS[kind], known, number)
        assert found.instead is None or not found.instead.sure


@pytest.mark.long
@pytest.mark.parametrize("known", KNOWN)
def test_held_out_beats_are_told_and_attempts_are_not(known: str) -> None:
    """Of passages that nothing was chosen on; the figures stand in DEVELOPERS.md."""
    numbers = range(71_000, 71_040)
    beat: Player = drifting_beat if known == "tempo unknown" else beat_clapped
    beats = [heard(drawn("unseen", number), beat, known, number).instead for number in numbers]
    assert sum(each is not None for each in beats) >= 0.7 * len(beats)
    for player in ATTEMPTS.values():
        tried = [heard(drawn("unseen", each), player, known, each).instead for each in numbers]
        assert sum(each is not None and each.sure for each in tried) <= 1


def test_one_try_at_an_entry_is_asked_for_its_entry_alone() -> None:
    """A try of a few bars tells when somebody came in; beats clapped in its rest are no passage."""
    one_go = replace(ALL_KNOWN, one_go=True)
    assert in_row(ENTRY, Row.CUE, one_go).instead is None


def test_fewer_than_eight_claps_tell_nothing() -> None:
    """Seven even claps may be the beginning of anything."""
    beats = beat_clapped(np.random.default_rng(4), timeline_of(TIES)).times_s[:7]
    take = Take("text", "few", tuple(Heard(float(time)) for time in beats), 20.0)
    assert check_take(timeline_of(TIES), take, ALL_KNOWN).instead is None


def test_the_rhythm_has_every_chance_to_lie_under_the_claps() -> None:
    """Claps that are the rhythm two beats late speak for the rhythm, not for the row."""
    notes, row = ticks(np.array([0, 0.5, 1.5, 2, 3, 3.5])), ticks(np.arange(12.0))
    claps = notes + ticks(np.array([2.0]))[0]
    laid = Laid(claps, row, near=1000, on_row=1000, bar=20_160, span=(0, 20_160), step=2520)
    least = least_evidence(laid, notes)
    assert least is not None
    assert least.odds < 0
