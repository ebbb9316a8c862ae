"""What an hour of playing along needs: no more than a minute, but for the claps themselves."""

import sys
from collections.abc import Iterable, Iterator, Sequence
from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.devices.fake import FakeClock, FakeTaps
from rhythmtrain.devices.fake_sound import FakeOutput, FakeSound
from rhythmtrain.devices.ports import Block, Output, Passed, Recorded, Tap
from rhythmtrain.rehearsal.live.gathered import Gathered
from rhythmtrain.rehearsal.live.live import Rig, Shown, play
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.timing.timeline import Practice, lay_out
from tests.rehearsal.watching import Watching

RATE, MINUTES, BEAT_S = 48_000, 60, 0.5
GROWS_BYTES = 6_000_000
PAGE_BYTES = 4096


class _Weighing(Watching):
    """A screen that keeps nothing, and weighs all that is kept once a minute."""

    def __init__(self, clock: FakeClock) -> None:
        """Begin with nothing weighed."""
        super().__init__()
        self.weights: list[int] = []
        self._clock = clock

    def draw(self, lines: Sequence[str]) -> None:
        """Weigh, now and then."""
        assert lines
        if self._clock.now_s() >= 60 * (len(self.weights) + 1):
            self.weights.append(_resident_bytes())


def _resident_bytes() -> int:
    """Return how much memory this process holds now."""
    return PAGE_BYTES * int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])


def _minutes() -> Iterator[Block]:
    page = np.zeros((RATE, 2), np.float32)
    for _ in range(60 * MINUTES):
        yield page


def test_what_was_recorded_is_held_once_however_often_it_is_asked_for() -> None:
    """A take of ten minutes is 115 MB, and was held three times while it was heard."""
    gathered = Gathered(RATE)
    pages = [np.full(960, float(number), np.float32) for number in range(3)]
    gathered.take(Passed(recorded=tuple(Recorded(960 * at, each) for at, each in enumerate(pages))))
    whole = gathered.recorded
    assert np.array_equal(whole, np.concatenate(pages))
    assert gathered.recorded is whole
    gathered.take(Passed(recorded=(Recorded(len(whole), pages[0]),)))
    assert len(gathered.recorded) == len(whole) + 960
    gathered.forget_sound()
    assert gathered.recorded.size == 0


@pytest.mark.long
@pytest.mark.skipif(sys.platform != "linux", reason="memory is read from /proc")
def test_an_hour_of_clapping_needs_little_more_than_its_claps() -> None:
    """The track, the clock and the screen keep nothing of what is over."""
    clock = FakeClock()
    claps = [Tap(BEAT_S * number, "space") for number in range(1, round(60 * MINUTES / BEAT_S))]

    def sound(blocks: Iterable[Block]) -> Output:
        return FakeOutput(blocks, clock, FakeSound(RATE, 960))

    def keys() -> FakeTaps:
        return FakeTaps(claps, clock)

    timeline = lay_out(find_passage("off-beats"), Practice(repeats=200))
    stage = _Weighing(clock)
    rig = Rig(clock, sound, keys, None, "keys", RATE)
    gathered = play(rig, _minutes(), Shown(stage, timeline))
    assert gathered.played_s == pytest.approx(60 * MINUTES, abs=1)
    assert len(gathered.touches) == len(claps)
    assert len(stage.weights) == MINUTES
    grown = np.array(stage.weights) - stage.weights[1]
    assert grown[-1] < GROWS_BYTES, f"{grown / 1e6} MB more than after two minutes"
