"""Following a free tempo: which clap is which note, where tries begin, what is another passage."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.assess.findings import Findings
from rhythmtrain.assess.free.check import free_findings
from rhythmtrain.assess.free.leftovers import with_leftovers
from rhythmtrain.assess.free.match import Chain, best_chain
from rhythmtrain.assess.free.match_rows import GAIN
from rhythmtrain.assess.free.refusal import looks_like
from rhythmtrain.timing.timeline import Practice
from tests.simulate.free_table import slipped
from tests.simulate.free_takes import Floats, freely, take_of, timeline

LAID = timeline()
WRITTEN = np.array([float(LAID.seconds(note.at)) for note in LAID.notes])
UNITS = np.array([float(note.at) for note in LAID.notes])
COUNT = len(WRITTEN)


def found(times: Floats) -> Findings:
    """Return the findings of claps at ``times``."""
    return free_findings(LAID, take_of(times))


@settings(max_examples=15, deadline=None)
@given(stretch=st.floats(0.5, 2.0), shift=st.floats(-50, 50))
def test_every_note_is_followed_at_half_and_at_double_the_tempo(
    stretch: float, shift: float
) -> None:
    """A player need not say how fast they will play."""
    chain = best_chain(WRITTEN, UNITS, freely(LAID) * stretch + shift)
    assert chain.notes == chain.claps == tuple(range(COUNT))
    assert chain.worth <= GAIN * COUNT


@settings(max_examples=25, deadline=None)
@given(seed=st.integers(0, 10_000), share=st.sampled_from([0.0, 0.1, 0.3]))
def test_pairs_always_go_forward(seed: int, share: float) -> None:
    """Each note and each clap is used once, in order, whatever was played."""
    rng = np.random.default_rng(seed)
    claps, _ = slipped(freely(LAID), share, rng)
    chain = with_leftovers(best_chain(WRITTEN, UNITS, claps), WRITTEN, claps)
    assert np.all(np.diff(chain.notes) > 0)
    assert np.all(np.diff(chain.claps) > 0)
    assert 0 <= chain.claps[0] <= chain.claps[-1] < len(claps)


def test_nothing_to_follow_is_an_empty_chain() -> None:
    """No notes or no claps: nobody is blamed."""
    assert best_chain(WRITTEN, UNITS, np.array([])) == Chain((), (), 0.0)
    assert best_chain(np.array([]), np.array([]), np.array([1.0])) == Chain((), (), 0.0)


def test_a_missing_and_an_extra_note_are_told_by_their_place() -> None:
    """The player hears which note was not heard, and where a clap was too many."""
    times = freely(LAID)
    heard = found(np.append(np.delete(times, 10), times[20] + 0.4 * (times[21] - times[20])))
    assert [note.note for note in heard.notes if note.verdict == "missed"] == [10]
    assert [(extra.bar, extra.count) for extra in heard.extras] == [
        (LAID.notes[20].note.bar, heard.extras[0].count)
    ]
    assert (heard.tally.matched, heard.tally.missed, heard.tally.extra) == (COUNT - 1, 1, 1)


def test_rolled_chords_and_grace_notes_do_not_lose_the_place() -> None:
    """Several onsets for a note are ordinary on real instruments."""
    times = freely(LAID)
    rolled = np.concatenate((times, times[::3] + 0.02, times[1::4] + 0.035, times[2::7] - 0.09))
    heard = found(rolled)
    assert heard.tally.missed == 0
    assert not heard.mistakes
    assert heard.looks_like is True


def test_talk_before_the_music_is_no_try() -> None:
    """Home recordings begin with "wait, is it on?"."""
    rng = np.random.default_rng(2)
    heard = found(np.concatenate((rng.uniform(0, 8, 7), freely(LAID) + 10)))
    assert len(heard.tries) == 1
    assert heard.tally.matched == COUNT


def test_three_tries_are_counted_and_the_fullest_is_shown() -> None:
    """Three tries in one file are an ordinary take."""
    times = freely(LAID)
    length = times[-1] + 3
    heard = found(np.concatenate((times, times + length, times[: COUNT // 2] + 2 * length)))
    assert len(heard.tries) == 3
    assert [each.complete for each in heard.tries] == [True, True, False]
    assert heard.shown == 1
    assert heard.remarks[0].startswith("three tries were heard; this is about number 2")
    assert heard.start_s == pytest.approx(float(times[0]) + length, abs=0.3)


def test_a_step_back_is_told_and_not_blamed() -> None:
    """Whoever stops and goes back a bar is told where, not given missed notes."""
    times = freely(LAID)
    half, again = 26, 19
    later = times[again:] - times[again] + times[half - 1] + 2.5
    heard = found(np.concatenate((times[:half], later)))
    bars = [LAID.notes[number].note.bar for number in (half - 1, again)]
    assert len(heard.tries) == 1
    assert heard.tally.matched == COUNT
    assert not heard.extras
    assert f"stopped in bar {bars[0]}, began again at bar {bars[1]}" in heard.remarks


def test_what_was_not_reached_is_not_checked() -> None:
    """Stopping half-way is no row of missed notes."""
    heard = found(freely(LAID)[:20])
    assert heard.tally.missed == 0
    assert heard.tally.not_checked == COUNT - 20


def test_another_passage_is_refused() -> None:
    """A take of the wrong piece must not be judged as a bad take of the right one."""
    other = timeline(
        "1 la li 2 3 | 1 & 2 3 & | (1) & 2 & 3 | 1 [&] a 2 & 3 | 1 2 & a 3 | 1 & 2 & 3 & |" * 2,
        metre="3/4",
        tempo=90,
    )
    assert found(freely(other)).looks_like is False
    assert found(freely(LAID)).looks_like is True
    assert not looks_like(0.5, 0.5, 1.0)
    assert looks_like(0.95, 0.0, 1.0)
    assert not looks_like(0.95, 0.0, 0.3)


def test_repeats_are_followed_over_the_counted_bars_between() -> None:
    """Between repeats a player may wait as long as they like."""
    laid = timeline(practice=Practice(repeats=2, between=1))
    times = freely(laid)
    times[COUNT:] += 1.1
    heard = free_findings(laid, take_of(times))
    assert heard.tally.matched == 2 * COUNT
    assert not heard.mistakes
