"""What is seen of a microphone while the track plays, on the shipped fakes."""

from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.devices.fake import FakeClock, FakeDuplex, FakeSound
from rhythmtrain.devices.fake_room import Room
from rhythmtrain.devices.ports import Block
from rhythmtrain.prompts.track import plan_track
from rhythmtrain.rehearsal.beside import Ear, heard_beside
from rhythmtrain.rehearsal.clap import clap_along
from rhythmtrain.rehearsal.clap_wish import ClapWish
from rhythmtrain.rehearsal.dry_run import Player, played_times
from rhythmtrain.rehearsal.live_ear import LiveEar
from rhythmtrain.rehearsal.passages import find_passage
from rhythmtrain.rehearsal.track_sound import Quality, sounded
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.rehearsal.watching import Watching

RATE, BLOCK, DELAY = 48_000, 960, 1200
DELAY_S = DELAY / RATE


def _played(rag: Path, gain: float, *, claps: bool = True) -> tuple[Block, Block, Sequence[float]]:
    """Return what a microphone recorded, the track, and the claps in track time."""
    timeline = lay_out(find_passage(str(rag)), Practice(count_in=1))
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


def _shown(recorded: Block, track: Block) -> list[tuple[float, float]]:
    """Return (track time, seconds after it was heard) of each mark."""
    pages: list[Block] = []
    ear = LiveEar(RATE, Ear(aloud=False), pages, delay_s=DELAY_S)
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
    assert len(_shown(recorded, track)) <= 2


def test_claps_louder_than_the_loudspeaker_are_shown(rag: Path) -> None:
    """A loudspeaker turned low hides nothing."""
    recorded, track, times = _played(rag, 0.05)
    marks = np.array([time_s for time_s, _ in _shown(recorded, track)])
    near = np.abs(marks[:, None] - np.array(times)).min(axis=0)
    assert np.mean(near <= 0.02) >= 0.9
    assert len(marks) <= len(times) + 2


@pytest.mark.parametrize("aloud", [None, False])
def test_the_screen_shows_what_the_microphone_heard(rag: Path, *, aloud: bool | None) -> None:
    """Clapping before the microphone looks as clapping on keys does."""
    stage = Watching(60)
    wish = ClapWish(str(rag), dry_run=True, source="mic", aloud=aloud)
    told = clap_along(wish, stage)
    marks = max("".join(screen).count("^") for screen in stage.screens)
    assert marks >= 6
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
