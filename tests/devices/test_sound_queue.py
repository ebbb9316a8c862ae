"""A track on its way to a driver that never waits."""

from collections.abc import Iterator
from threading import Event

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.devices.blocks import even_blocks, spread
from rhythmtrain.devices.ports import Block, Stamp
from rhythmtrain.devices.rate_watch import RateWatch
from rhythmtrain.devices.sound_queue import SoundQueue
from rhythmtrain.errors import DeviceError

RATE = 8_000


def ramp(count: int) -> Block:
    """Return samples that tell their own place, from 1."""
    return np.arange(1, count + 1, dtype=np.float32)


@settings(max_examples=30, deadline=None)
@given(
    cut=st.integers(1, 700),
    size=st.integers(1, 300),
    asked=st.integers(1, 500),
    tail=st.integers(0, 99),
)
def test_however_the_track_is_cut_and_asked_for_it_is_the_same_track(
    cut: int, size: int, asked: int, tail: int
) -> None:
    """A driver may ask for any number of frames."""
    track = ramp(1500)
    blocks = [track[at : at + cut] for at in range(0, 1500, cut)]
    queue = SoundQueue(blocks, size, channels=1, rate=RATE, tail_s=tail / RATE)
    queue.start()
    got: list[Block] = []
    while not queue.over and len(got) < 4000:
        out = np.full((asked, 1), 9.0, np.float32)
        queue.take(out)
        got.append(out)
    queue.leave()
    sound = np.concatenate(got)[:, 0]
    assert np.array_equal(sound[:1500], track)
    assert not sound[1500:].any()
    assert len(sound) >= 1500 + tail


def test_a_track_that_comes_late_keeps_its_place() -> None:
    """The beat never moves: silence is heard, and the late frames are left out."""
    asked, go_on, made = Event(), Event(), Event()

    def slow() -> Iterator[Block]:
        yield ramp(300)[:100]
        asked.set()
        go_on.wait()
        yield ramp(300)[100:]
        made.set()

    queue = SoundQueue(slow(), 50, channels=1, rate=RATE, tail_s=0)
    queue.start(wait_s=0.0)
    asked.wait()
    heard: list[Block] = []

    def turn() -> bool:
        out = np.full((50, 1), 9.0, np.float32)
        in_time = queue.take(out)
        heard.append(out[:, 0])
        return in_time

    assert [turn() for _ in range(4)] == [True, True, False, False]
    go_on.set()
    made.wait()
    while not queue.over:
        turn()
    queue.leave()
    expected = ramp(300)
    expected[100:200] = 0
    assert np.array_equal(np.concatenate(heard)[:300], expected)


def test_a_track_that_fails_hands_its_error_on() -> None:
    """A mistake in the making of a track is not swallowed in a thread."""

    def broken() -> Iterator[Block]:
        yield ramp(10)
        raise DeviceError("the page is torn")

    queue = SoundQueue(broken(), 5, channels=1, rate=RATE, tail_s=0)
    queue.start()
    queue.leave()
    assert str(queue.error) == "the page is torn"


def test_leaving_early_ends_the_making_of_an_endless_track() -> None:
    """Escape in the first bar of a long piece leaves no thread behind."""

    def endless() -> Iterator[Block]:
        while True:
            yield ramp(1000)

    queue = SoundQueue(endless(), 100, channels=2, rate=RATE, tail_s=0)
    queue.start()
    queue.leave()
    assert not queue._maker.is_alive()  # noqa: SLF001


def test_channels_are_copied_or_averaged() -> None:
    """One track fits one or two loudspeakers."""
    stereo = np.array([[1.0, 3.0]], np.float32)
    assert spread(stereo, 1).tolist() == [[2.0]]
    assert spread(stereo[:, 0], 2).tolist() == [[1.0, 1.0]]
    with pytest.raises(DeviceError, match="2 channels and the device 4"):
        list(even_blocks([stereo], 8, channels=4, tail=0))


@pytest.mark.parametrize(
    ("true_rate", "changed"), [(48_000, False), (48_040, False), (44_100, True)]
)
def test_a_changed_rate_is_noticed_and_a_quartz_is_not(true_rate: int, *, changed: bool) -> None:
    """Another program set the device to another rate: the track would sound lower."""
    watch = RateWatch(48_000)
    stamps = [Stamp(number * 256, number * 256 / true_rate) for number in range(4000)]
    assert any(watch.changed(stamp) for stamp in stamps) is changed


def test_lost_sound_is_no_changed_rate() -> None:
    """A machine that stumbles every second keeps its rate."""
    watch = RateWatch(48_000)
    for number in range(4000):
        lost_s = 0.3 * (number // 180)
        stamp = Stamp(number * 256, number * 256 / 48_000 + lost_s)
        assert not watch.changed(stamp, lost=number % 180 == 0)
