"""What is seen of a microphone while the track plays, on the shipped fakes."""

import os
import sys
import threading
import time
from collections.abc import Sequence
from concurrent.futures import Future
from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.devices.fake import FakeClock
from rhythmtrain.devices.fake_room import Room
from rhythmtrain.devices.fake_sound import FakeDuplex, FakeSound
from rhythmtrain.devices.ports import Block
from rhythmtrain.devices.waking import go_sooner
from rhythmtrain.hearing.live.bleed import Job
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.rehearsal.clapping.clap import clap_along
from rhythmtrain.rehearsal.clapping.wish import ClapWish
from rhythmtrain.rehearsal.live.beside import Ear, heard_beside
from rhythmtrain.rehearsal.live.dry_run import Player, played_times
from rhythmtrain.rehearsal.live.ear import Found, LiveEar, at_once
from rhythmtrain.rehearsal.live.take import LEARNING
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.tracks.sound import Quality, sounded
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.rehearsal.watching import Watching
from tests.simulate.live_table import shown
from tests.simulate.pace import stretched
from tests.simulate.rooms import CASES

RATE, BLOCK, DELAY = 48_000, 960, 1200
DELAY_S = DELAY / RATE


def _played(
    rag: Path | str, gain: float, *, bars: str | None = None, claps: bool = True
) -> tuple[Block, Block, Sequence[float]]:
    """Return what a microphone recorded, the track, and the claps in track time."""
    timeline = lay_out(find_passage(str(rag), bars), Practice(count_in=1))
    blocks, _ = sounded(plan_track(timeline), language="en", voice=None, quality=Quality(RATE, 2))
    sound = list(blocks)
    times = played_times(timeline, Player()) if claps else []
    heard_s = tuple(time + DELAY_S for time in times)
    room = Room(DELAY, gain=gain, noise=1e-4, claps_s=heard_s, seed=3)
    card = FakeDuplex(sound, FakeClock(), FakeSound(RATE, BLOCK, room=room))
    with card:
        recorded: list[Block] = []
        while card.ended is None:
            recorded += [each.samples for each in card.poll(1.0).recorded]
    track = np.concatenate([block.mean(axis=1) for block in sound]).astype(np.float32)
    return np.concatenate(recorded), track, times


def _shown(
    recorded: Block, track: Block, *, claimed_s: float = DELAY_S
) -> list[tuple[float, float]]:
    """Return (track time, seconds after it was heard) of each mark."""
    pages: list[Block] = []
    ear = LiveEar(RATE, Ear(aloud=False), pages, delay_s=claimed_s)
    found = []
    for first in range(0, len(recorded), BLOCK):
        pages.append(track[first : first + BLOCK])
        now_s = (first + BLOCK) / RATE
        marks = ear(recorded[first : first + BLOCK])
        found += [(time_s, now_s - time_s - DELAY_S) for time_s in marks]
    return found


def test_claps_are_shown_60_ms_after_they_are_heard_and_stay(rag: Path) -> None:
    """The mark stands where the report will say it was."""
    recorded, track, times = _played(rag, 0.0)
    shown = _shown(recorded, track)
    assert max(late_s for _, late_s in shown) <= 0.06
    refined = np.array(heard_beside(recorded, track, RATE, ear=Ear(aloud=False)).take.times_s)
    marks = np.array([time_s for time_s, _ in shown])
    assert len(marks) == len(times) == len(refined)
    assert np.abs(marks + DELAY_S - refined).max() <= 0.02
    assert np.abs(marks - times).max() <= 0.02


def test_the_loudspeaker_is_not_shown_as_a_player(rag: Path) -> None:
    """Who only listens sees an empty lane, though the microphone hears every click."""
    recorded, track, _ = _played(rag, 0.5, claps=False)
    assert _shown(recorded, track, claimed_s=DELAY_S + 0.04) == []


def test_claps_louder_than_the_loudspeaker_are_shown(rag: Path) -> None:
    """A loudspeaker turned low hides nothing."""
    recorded, track, times = _played(rag, 0.05)
    marks = np.array([time_s for time_s, _ in _shown(recorded, track)])
    near = np.abs(marks[:, None] - np.array(times)).min(axis=0)
    assert np.mean(near <= 0.02) >= 0.9
    assert len(marks) <= len(times) + 2


def test_beside_a_loudspeaker_claps_are_shown_on_clicks_and_none_is_made_up() -> None:
    """As loud as the claps: once the first seconds have taught the way, what is clapped is seen."""
    recorded, track, times = _played("towpath-rag", 0.6, bars="1-8")
    shown = _shown(recorded, track, claimed_s=DELAY_S + 0.03)
    marks = np.array([time_s for time_s, _ in shown])
    taught = np.array(times)[np.array(times) > 6.5]
    assert len(taught) >= 10
    assert np.mean(np.abs(marks[:, None] - taught).min(axis=0) <= 0.02) >= 0.8
    assert np.abs(marks[:, None] - np.array(times)).min(axis=1).max() <= 0.03
    assert max(late_s for _, late_s in shown) <= 0.06


def test_hearing_costs_little_of_the_time_that_a_block_lasts(rag: Path) -> None:
    """At 256 frames a block, learning left to others: on a slow machine nothing may fall behind."""
    recorded, track, _ = _played(rag, 0.6)
    block, length = 256, 8 * RATE
    pages = [track[:RATE]]
    jobs: list[float] = []

    def aside(job: Job) -> Future[Found]:
        begun_s = time.thread_time()
        done = at_once(job)
        jobs.append(time.thread_time() - begun_s)
        return done

    ear = LiveEar(RATE, Ear(aloud=False), pages, delay_s=DELAY_S, work=aside)
    begun_s = time.thread_time()
    for first in range(0, length, block):
        pages.append(track[RATE + first : RATE + first + block])
        ear(recorded[first : first + block])
    cost = (time.thread_time() - begun_s - sum(jobs)) / (length / RATE)
    assert ear.way is not None
    assert cost <= stretched(0.3)
    assert sum(jobs) <= stretched(0.5) * length / RATE


@pytest.mark.long
@pytest.mark.parametrize(("how", "least"), [("taught", 0.95), ("untaught", 0.85)])
def test_a_row_of_the_table(how: str, least: float) -> None:
    """Rooms on which nothing was chosen, as loud as the claps, and the same with nobody playing."""
    row = shown("held out", CASES["still room, overload"], range(1), bleed_db=0, how=how)
    assert row.claps.f >= least
    assert row.claps.silent == 0
    assert row.claps.false_on_bare == 0
    assert row.latest_s <= 0.06


class _Turns(Watching):
    """A stage that notes how the thread that learns the room gets its turns, once it has learnt."""

    def __init__(self) -> None:
        """Begin with nothing noted."""
        super().__init__()
        self.policy: int | None = None

    def draw(self, lines: Sequence[str]) -> None:
        """Look for the thread."""
        super().draw(lines)
        for each in threading.enumerate():
            if each.name.startswith(LEARNING) and each.native_id is not None:
                asked = os.sched_getscheduler(each.native_id)
                self.policy = asked & ~os.SCHED_RESET_ON_FORK


def _sooner() -> int:
    """Return how a thread that goes sooner gets its turns here."""
    found: list[int] = []

    def look() -> None:
        go_sooner()
        found.append(os.sched_getscheduler(0) & ~os.SCHED_RESET_ON_FORK)

    thread = threading.Thread(target=look)
    thread.start()
    thread.join()
    return found[0]


@pytest.mark.skipif(sys.platform != "linux", reason="only Linux lets a single thread go first")
def test_nobody_who_computes_beside_the_sound_waits_for_other_programs() -> None:
    """Held up by another program, it would hold up the sound card's thread, and sound is lost."""
    stage = _Turns()
    clap_along(ClapWish("towpath-rag", bars="1-2", dry_run=True, source="mic"), stage)
    assert stage.policy == _sooner()


def test_while_a_take_is_heard_the_screen_says_so(rag: Path) -> None:
    """It lasts a while: nobody shall think that the program hangs."""
    stage = Watching()
    clap_along(ClapWish(str(rag), bars="1", dry_run=True, source="mic", aloud=False), stage)
    assert "is being heard" in stage.screens[-1][-1]
    assert stage.opened == stage.closed == 2


@pytest.mark.parametrize("aloud", [None, False])
def test_the_screen_shows_what_the_microphone_heard(*, aloud: bool | None) -> None:
    """Clapping before the microphone looks as clapping on keys does, once the room is known."""
    stage = Watching(60)
    wish = ClapWish("towpath-rag", bars="1-8", dry_run=True, source="mic", aloud=aloud)
    told = clap_along(wish, stage)
    marks = max("".join(screen).count("^") for screen in stage.screens)
    assert marks >= 8
    assert told.document["live"]["ended"] == "finished"


@pytest.mark.long
def test_a_loop_before_the_microphone_is_judged_when_it_has_ended(rag: Path) -> None:
    """What was heard with half an ear is shown, but nobody is called late for it."""
    stage = Watching()
    clap_along(ClapWish(str(rag), dry_run=True, source="mic", loop=True), stage)
    words = "\n".join(line for screen in stage.screens for line in screen)
    assert "^" in words
    assert "early" not in words
    assert "late" not in words
