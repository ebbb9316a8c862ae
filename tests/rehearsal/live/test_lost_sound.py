"""A buffer that is lost in the middle of a take, on the shipped fakes: nobody is late for it."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass

import numpy as np
import pytest

from rhythmtrain.devices.fake import FakeClock, FakeTaps
from rhythmtrain.devices.fake_room import Dropout, Room
from rhythmtrain.devices.fake_sound import FakeDuplex, FakeOutput, FakeSound
from rhythmtrain.devices.ports import Block, Output, Tap
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.rehearsal.checking.checked import Asked
from rhythmtrain.rehearsal.live.beside import Ear
from rhythmtrain.rehearsal.live.dry_run import Player, played_times
from rhythmtrain.rehearsal.live.judged import judged_live
from rhythmtrain.rehearsal.live.live import Rig, Shown
from rhythmtrain.rehearsal.live.lost_sound import LostSound, lost_in_words
from rhythmtrain.rehearsal.live.performance import Performance
from rhythmtrain.rehearsal.live.sound_delay import Delay
from rhythmtrain.rehearsal.live.stage import NoStage
from rhythmtrain.rehearsal.live.take import Sounding, perform
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.timing.timeline import Practice, Timeline, lay_out

RATE, BLOCK, DELAY = 48_000, 960, 28_800
# How far a clap on a word of the track is off at most in these takes, before a gap as after it, and
# also where nothing is lost: up to a third of the claps are off by more than 2 ms so.
BESIDE_A_WORD_S = 0.0075
LATER = {"played": 1, "recorded": -1, "both": 0}


@dataclass(frozen=True)
class Lost:
    """What was lost: from which second on, how many seconds, and on which way."""

    at_s: float
    lost_s: float
    what: str


Made = tuple[Performance, np.ndarray]
Make = Callable[..., Made]


@pytest.fixture(scope="module")
def timeline() -> Timeline:
    """Return six bars with words before them, so that the track tells one beat from the next."""
    return lay_out(find_passage("towpath-rag", "1-6"), Practice(count_in=1))


@pytest.fixture(scope="module")
def take(timeline: Timeline) -> Make:
    """Return what makes a take in which something is lost, and when in it claps were meant."""

    def made(lost: Lost, *, gain: float = 0.25, claps: bool = True) -> Made:
        times = np.array(played_times(timeline, Player(silent=not claps)))
        heard = times + DELAY / RATE
        if lost.what == "recorded":  # what was clapped meanwhile is lost with the rest
            heard = heard[(heard <= lost.at_s) | (heard > lost.at_s + lost.lost_s)]
        heard[heard > lost.at_s] += LATER[lost.what] * lost.lost_s
        at, frames = round(lost.at_s * RATE), round(lost.lost_s * RATE)
        dropouts = (Dropout(at, frames, lost.what),)
        room = Room(DELAY, gain=gain, noise=1e-4, dropouts=dropouts, claps_s=tuple(heard), seed=2)
        clock = FakeClock()

        def sound(blocks: Iterable[Block]) -> Output:
            return FakeDuplex(blocks, clock, FakeSound(RATE, BLOCK, tail_s=1.2, room=room))

        performance = perform(
            Rig(clock, sound, None, None, "audio", RATE),
            Sounding(plan_track(timeline)),
            Shown(NoStage(), timeline),
            known=lambda _: Delay(DELAY / RATE, 0.001, known=True),
            ear=Ear(aloud=False),
        )
        return performance, times

    return made


def _stand_in_their_place(made: Made, lost: Lost) -> None:
    """Hold what was heard against what was clapped, all but what lies in the gap and close to it."""
    performance, times = made
    gap_s = lost.at_s - DELAY / RATE
    wide_s = 0.2 + lost.lost_s
    apart = np.abs(times - gap_s) > wide_s
    assert len(times) - apart.sum() <= 6
    found = np.array(performance.take.times_s)
    assert np.abs(found[:, None] - times[None, :]).min(axis=1).max() <= BESIDE_A_WORD_S
    for side in (times < gap_s, times > gap_s):
        away = np.abs(times[apart & side][:, None] - found[None, :]).min(axis=1)
        assert np.percentile(away, 65) <= 0.002
        assert np.median(away) <= 0.0005
        assert away.max() <= BESIDE_A_WORD_S
    hidden = np.array(performance.take.hidden_s)
    assert hidden.size
    assert np.abs(hidden - gap_s).max() <= wide_s
    assert np.abs(hidden - gap_s).min() <= 0.05


def _said(performance: Performance) -> list[str]:
    return [each for each in performance.notes if "lost" in each.lower()]


def test_claps_after_a_lost_buffer_stand_where_they_were_clapped(
    take: Make, timeline: Timeline
) -> None:
    """Within 2 ms, none invented, none of what lay in the gap called missed; and it is said once."""
    lost = Lost(6.0, 0.02, "recorded")
    made = take(lost)
    _stand_in_their_place(made, lost)
    (said,) = _said(made[0])
    assert said.startswith("Sound was lost in bar 3 while you played: what you clapped there")
    checked = judged_live(made[0], timeline, Asked("towpath-rag"))
    assert checked.findings.tally.extra == 0
    assert checked.findings.tally.missed == 0


def test_a_server_that_skipped_a_turn_moves_nobody_on_headphones(take: Make) -> None:
    """Nothing tells where the claps after it lie but the count of frames: it is said to be less fine."""
    lost = Lost(6.0, 0.08, "both")
    made = take(lost, gain=0.0)
    _stand_in_their_place(made, lost)
    (said,) = _said(made[0])
    assert "known less finely" in said
    after_s = lost.at_s - DELAY / RATE
    unsure = {each.time_s > after_s: each.uncertainty_s for each in made[0].take.heard}
    assert unsure[True] > unsure[False] + 0.01


def test_a_card_that_stood_still_and_told_nobody_makes_no_tap_early(timeline: Timeline) -> None:
    """Whoever tapped on with the sound is right after it too; the bar that it fell in is named."""
    at_s, stood_s = 6.0, 0.9
    times = np.array(played_times(timeline, Player()))
    taps = [Tap(float(each + stood_s * (each >= at_s)), "space") for each in times]
    dropouts = (Dropout(round(at_s * RATE), round(stood_s * RATE), told=False),)
    card = FakeSound(RATE, 256, tail_s=1.2, late_s=0.0005, room=Room(0, dropouts=dropouts))
    clock = FakeClock()
    performance = perform(
        Rig(clock, lambda blocks: FakeOutput(blocks, clock, card),
            lambda: FakeTaps(taps, clock), None, "keys", RATE),
        Sounding(plan_track(timeline)),
        Shown(NoStage(), timeline),
        known=lambda _: Delay(0.0, 0.001, known=True),
    )  # fmt: skip
    found = np.array(performance.take.times_s)
    assert np.abs(found[:, None] - times[None, :]).min(axis=1).max() <= 0.003
    assert (np.abs(times - at_s) > 0.5).sum() <= len(found)
    (said,) = _said(performance)
    assert said.startswith("Sound was lost in bar 3 while you played: what you clapped there")
    checked = judged_live(performance, timeline, Asked("towpath-rag"))
    assert checked.findings.tally.extra == 0
    assert checked.findings.tally.missed == 0
    assert {each.verdict.value for each in checked.findings.notes} <= {"in time", "not checked"}


@pytest.mark.long
@pytest.mark.parametrize("what", LATER)
@pytest.mark.parametrize(("at_s", "lost_s"), [(6.01, 0.1), (6.9, 0.3), (7.5, 0.5)])
def test_any_lost_buffer_moves_no_clap(take: Make, what: str, at_s: float, lost_s: float) -> None:
    """Played, recorded, or both: from one turn of the sound card to half a second."""
    lost = Lost(at_s, lost_s, what)
    _stand_in_their_place(take(lost), lost)


@pytest.mark.long
@pytest.mark.parametrize("what", LATER)
def test_a_lost_buffer_is_nobodys_clap(take: Make, what: str) -> None:
    """The edge of a gap is sharp, and the loudspeaker is predicted in a place where it is not."""
    performance, _ = take(Lost(6.0, 0.1, what), claps=False)
    assert performance.take.heard == ()


@pytest.mark.parametrize(
    ("lost", "said"),
    [
        ([], None),
        ([(99.0, 99.5)], None),
        ([(0.5, 0.6)], "Sound was lost in a counted bar while"),
        ([(2.0, 2.1)], "Sound was lost in bar 1 while"),
        ([(0.5, 2.1), (6.0, 6.1)], "Sound was lost in bars 1 and 3 and in a counted bar while"),
    ],
)
def test_where_sound_was_lost_is_told_in_bars(
    timeline: Timeline, lost: list[tuple[float, float]], said: str | None
) -> None:
    """A player looks for bar 3, not for the sixth second."""
    found = lost_in_words([LostSound(*each) for each in lost], timeline)
    assert len(found) == (said is not None)
    assert all(each.startswith(str(said)) for each in found)
