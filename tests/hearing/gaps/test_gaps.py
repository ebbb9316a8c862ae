"""Lost sound: found in what the track tells, and the recording laid on one clock again."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from rhythmtrain.hearing.gaps.finding import Hint, found_gaps
from rhythmtrain.hearing.gaps.gaps import Gap, mended
from rhythmtrain.hearing.onsets.onset import Onset
from tests.simulate.small_room import RATE, heard_in_it, uneven_track

AT = 5 * RATE


TRACK = uneven_track(13.0)
HEARD = heard_in_it(TRACK)


def _lost(by: int) -> np.ndarray:
    """Return ``HEARD`` from which ``-by`` samples are missing at AT, or ``by`` came twice."""
    return np.concatenate([HEARD[: AT + max(by, 0)], HEARD[AT + max(-by, 0) :]])


@pytest.mark.parametrize(("by", "said"), [(-320, True), (-6400, False), (1600, True)])
def test_a_gap_is_found_to_the_sample(by: int, *, said: bool) -> None:
    """Whether the driver told of it or not; else every later clap would be early, or late."""
    at = AT + max(by, 0)
    hints = [Hint(at - 100, at + 156)] if said else []
    (gap,) = found_gaps(_lost(by), TRACK, RATE, hints)
    assert gap.late == by
    assert gap.error_s == 0
    assert gap.first - 64 <= at <= gap.stop + 64
    assert gap.stop - gap.first <= 0.15 * RATE
    whole = mended(_lost(by), (gap,), RATE)
    known = slice(whole.spans[-1].stop, len(HEARD) - RATE)
    assert np.array_equal(whole.sound[known], HEARD[known])
    assert np.array_equal(whole.sound[: whole.spans[0].first], HEARD[: whole.spans[0].first])


def test_a_whole_recording_has_no_gap() -> None:
    """A room, noise and a quartz that drifts by 200 millionths are no lost sound."""
    assert found_gaps(HEARD, TRACK, RATE) == ()
    places = np.arange(len(HEARD)) * (1 - 200e-6)
    drifted = np.interp(places, np.arange(len(HEARD)), HEARD).astype(np.float32)
    assert found_gaps(drifted, TRACK, RATE) == ()


def test_two_gaps_are_two() -> None:
    """Each is measured from where the last one left off."""
    once = _lost(-800)
    at = AT + 64_000
    twice = np.concatenate([once[:at], once[at + 500 :]])
    hints = [Hint(AT - 100, AT + 156), Hint(at - 100, at + 156)]
    gaps = found_gaps(twice, TRACK, RATE, hints)
    assert [gap.late for gap in gaps] == [-800, -500]


def test_gaps_close_together_leave_all_between_them_unknown() -> None:
    """In a second of sound nothing tells the delay."""
    at = AT + RATE
    once = _lost(-800)
    twice = np.concatenate([once[:at], once[at + 500 :]])
    hints = [Hint(AT - 100, AT + 156), Hint(at - 100, at + 156)]
    (gap,) = found_gaps(twice, TRACK, RATE, hints)
    assert gap.late == -1300
    assert gap.first < AT < at < gap.stop


def test_nothing_is_known_after_a_gap_close_to_the_end() -> None:
    """Too little sound follows to tell where it lies."""
    at = len(HEARD) - 2 * RATE
    (gap,) = found_gaps(HEARD, TRACK, RATE, [Hint(at, at + 256)])
    assert gap.stop == len(HEARD)


def test_where_the_track_is_not_heard_a_gap_is_only_said() -> None:
    """On headphones nothing tells what the delay is afterwards: it is known less finely."""
    noise = 1e-3 * np.random.default_rng(1).standard_normal(len(TRACK)).astype(np.float32)
    (gap,) = found_gaps(noise, TRACK, RATE, [Hint(AT, AT + 256)])
    assert (gap.late, gap.error_s > 0) == (0, True)
    assert found_gaps(noise, TRACK, RATE) == ()


@given(late=st.integers(-500, 500), first=st.integers(0, 3000), width=st.integers(0, 200))
def test_what_is_known_is_left_as_it_was(late: int, first: int, width: int) -> None:
    """Mending moves what comes after a gap, and changes nothing outside it."""
    sound = np.arange(1, 4001, dtype=np.float32)
    gap = Gap(first, first + width // 2, first + width, late)
    whole = mended(sound, (gap,), 1000)
    assert len(whole.sound) == len(sound) - late
    (span,) = whole.spans
    assert np.array_equal(whole.sound[: span.first], sound[: span.first])
    assert np.array_equal(whole.sound[span.stop :], sound[span.stop + late :])
    unknown = np.array(whole.unknown_s)
    assert unknown[0] == pytest.approx(span.first / 1000)
    assert unknown[-1] == pytest.approx(span.stop / 1000)
    assert np.diff(unknown).max() <= 0.0301


def test_no_onset_is_believed_in_a_gap_and_later_ones_less() -> None:
    """The edge of a gap is sharp, but nobody clapped it."""
    whole = mended(np.ones(4000, np.float32), (Gap(1000, 1000, 1100, -50, 0.005),), 1000)
    onsets = [Onset(time_s, 10.0, 0.001) for time_s in (0.5, 1.05, 2.0)]
    early, late = whole.believed(onsets)
    assert (early.time_s, late.time_s) == (0.5, 2.0)
    assert early.uncertainty_s == pytest.approx(0.001)
    assert late.uncertainty_s == pytest.approx(np.hypot(0.001, 0.005))


def test_a_gap_is_filled_without_an_edge() -> None:
    """What lies beside it is turned round, so that nothing jumps; a gap at an end is filled too."""
    tone = np.sin(np.arange(4000) / 9).astype(np.float32)
    whole = mended(tone, (Gap(2000, 2000, 2000, -300),), 1000)
    assert np.abs(np.diff(whole.sound)).max() <= 0.35
    patched = mended(tone, (Gap(0, 0, 0, -300),), 1000).patched(np.ones(4300, np.float32))
    assert np.abs(patched - 1).max() <= 0.5


def test_a_second_gap_lies_where_it_is_once_the_first_is_mended() -> None:
    """What is not checked is what was lost: neither a bar earlier nor a bar later."""
    sound = np.linspace(0, 1, 5 * RATE, dtype=np.float32)
    gaps = (Gap(RATE, RATE, RATE, late=-2000), Gap(3 * RATE, 3 * RATE, 3 * RATE, late=-100))
    whole = mended(sound, gaps, RATE)
    assert len(whole.sound) == len(sound) + 2100
    second = whole.spans[1]
    assert second.first < 3 * RATE + 2000 < second.stop
    assert second.stop - second.first < 0.15 * RATE
    onsets = [Onset((3 * RATE + at) / RATE, 1.0, 0.001) for at in (0, 2050)]
    assert whole.believed(onsets) == (onsets[0],)
