"""The shipped fakes behave as they were told to, and need no time."""

from collections.abc import Iterator

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from rhythmtrain.capture.clock import ClockLine
from rhythmtrain.devices.fake import FakeClock, FakeTaps
from rhythmtrain.devices.fake_room import Dropout, Room
from rhythmtrain.devices.fake_sound import FakeDuplex, FakeOutput, FakeSound
from rhythmtrain.devices.ports import (
    Block,
    Duplex,
    Ended,
    How,
    Output,
    Passed,
    Tap,
    TapSource,
    gathered,
)

RATE = 48_000


def noise(seconds: float, seed: int = 0) -> Block:
    """Return a mono track."""
    random = np.random.default_rng(seed)
    return (0.1 * random.standard_normal(round(seconds * RATE))).astype(np.float32)


def run(port: Output, wait_s: float = 0.05) -> Passed:
    """Poll ``port`` until it ends."""
    got = []
    with port:
        while port.ended is None:
            got.append(port.poll(wait_s))
    return gathered(got)


def how(port: Output | TapSource) -> How | None:
    """Return how ``port`` ended."""
    return port.ended.how if port.ended is not None else None


def sound_of(passed: Passed) -> Block:
    """Return all that was recorded."""
    return np.concatenate([each.samples for each in passed.recorded])


@settings(max_examples=20, deadline=None)
@given(
    delay=st.integers(0, 9000),
    cut=st.integers(1, 20_000),
    block=st.sampled_from([64, 255, 256, 1024]),
)
def test_the_track_is_heard_after_the_chosen_delay_however_it_is_cut(
    delay: int, cut: int, block: int
) -> None:
    """A round trip measured on the fake is exact to the sample."""
    track = noise(0.5)
    blocks = [track[at : at + cut] for at in range(0, len(track), cut)]
    heard = sound_of(
        run(FakeDuplex(blocks, FakeClock(), FakeSound(block=block, room=Room(delay=delay))))
    )
    assert np.array_equal(heard[delay : delay + len(track)], track)
    assert not heard[:delay].any()


def test_recorded_blocks_follow_one_another_and_a_tail_is_recorded() -> None:
    """What is late at the end of the track is heard too."""
    passed = run(FakeDuplex([noise(1)], FakeClock(), FakeSound(tail_s=0.25)))
    frames = [each.frame for each in passed.recorded]
    assert frames == list(range(0, frames[-1] + 1, 256))
    assert frames[-1] + 256 >= 1.25 * RATE


def test_stamps_show_the_drift_of_the_card_s_quartz() -> None:
    """A card that runs fast is found out by its stamps."""
    clock = FakeClock(50.0)
    passed = run(FakeOutput([noise(30)], clock, FakeSound(clock_ppm=150, late_s=0.0005)))
    line = ClockLine(RATE)
    for stamp in passed.stamps:
        line.add(stamp.frame, stamp.time_s)
    assert line.model().drift_ppm == pytest.approx(150, abs=10)
    assert passed.recorded == ()


def test_a_recording_that_drifts_is_later_and_later() -> None:
    """Two quartzes: after ten seconds at 400 ppm the delay has grown by 192 samples."""
    track = np.zeros(10 * RATE, np.float32)
    track[[1000, 10 * RATE - 1000]] = 0.5
    room = Room(delay=100, drift_ppm=400)
    heard = sound_of(run(FakeDuplex([track], FakeClock(), FakeSound(room=room))))
    first, last = int(np.argmax(heard[:RATE])), RATE + int(np.argmax(heard[RATE:]))
    assert first - 1000 == 100
    assert last - (10 * RATE - 1000) == pytest.approx(292, abs=1)


@pytest.mark.parametrize(("what", "by"), [("played", 480), ("recorded", -480), ("both", 0)])
def test_lost_sound_is_counted_and_moves_the_delay(what: str, by: int) -> None:
    """The clock goes on while sound is lost; what is heard afterwards comes later or earlier."""
    track = np.zeros(2 * RATE, np.float32)
    track[[20_000, 80_000]] = 0.5
    room = Room(delay=1000, dropouts=(Dropout(50_000, 480, what),))
    passed = run(FakeDuplex([track], FakeClock(), FakeSound(room=room)))
    assert np.flatnonzero(sound_of(passed)).tolist() == [21_000, 81_000 + by]
    (xrun,) = passed.xruns
    assert xrun.first <= 50_000 < xrun.end
    before, after = passed.stamps[100], passed.stamps[300]
    passed_s = after.time_s - before.time_s
    assert passed_s == pytest.approx((after.frame - before.frame + 480) / RATE)


def test_a_card_that_goes_away_leaves_what_was_recorded() -> None:
    """The take so far is kept, and one sentence says why it ended."""
    port = FakeDuplex([noise(10)], FakeClock(), FakeSound(away_at_s=3.0))
    heard = sound_of(run(port))
    assert len(heard) == pytest.approx(3 * RATE, abs=256)
    assert how(port) is How.WENT_AWAY
    assert port.ended == Ended(How.WENT_AWAY, "the fake sound card went away")
    assert port.poll(1.0) == Passed()


def test_noise_gain_and_claps_are_in_the_microphone() -> None:
    """A room with a player in it."""
    room = Room(gain=0.25, noise=0.01, claps_s=(0.3, 0.6), clap_peak=0.8, seed=4)
    heard = sound_of(
        run(FakeDuplex([np.zeros(RATE, np.float32)], FakeClock(), FakeSound(room=room)))
    )
    assert np.flatnonzero(heard > 0.7)[[0, -1]].tolist() == [14_400, 28_800]
    assert np.std(heard[:14_000]) == pytest.approx(0.01, rel=0.1)
    loud = sound_of(run(FakeDuplex([noise(0.2)], FakeClock(), FakeSound(room=Room(gain=0.25)))))
    assert np.allclose(loud[: RATE // 5], 0.25 * noise(0.2))


def test_taps_come_when_the_clock_says_so_and_escape_ends_them() -> None:
    """The stop key is no tap."""
    clock = FakeClock(10.0)
    keys = FakeTaps(
        [Tap(11.0, "x"), Tap(10.5, "space"), Tap(12.0, "escape"), Tap(13.0, "x")], clock
    )
    with keys:
        assert keys.poll(0.2) == ()
        assert clock.now_s() == pytest.approx(10.2)
        assert [tap.what for tap in keys.poll(5.0)] == ["space"]
        assert clock.now_s() == 10.5
        assert [tap.what for tap in keys.poll(5.0)] == ["x"]
        assert how(keys) is None
        assert keys.poll(5.0) == ()
    assert how(keys) is How.STOPPED
    assert keys.poll(1.0) == ()


def test_keys_that_go_away_give_what_came_before() -> None:
    """An unplugged pad ends the source and loses no tap."""
    keys = FakeTaps([Tap(0.5, "60"), Tap(2.0, "60")], FakeClock(), away_at_s=1.0)
    with keys:
        assert len(keys.poll(5.0)) == 1
        assert keys.poll(5.0) == ()
    assert how(keys) is How.WENT_AWAY


def test_stopping_by_hand_is_told_as_stopped_once() -> None:
    """Whoever stops a port that has ended changes nothing."""
    port = FakeOutput([noise(1)], FakeClock())
    with port:
        port.poll(0.1)
        port.stop()
        port.stop()
    assert how(port) is How.STOPPED


def test_a_clock_never_goes_back() -> None:
    """Time is a promise."""
    clock = FakeClock(5.0)
    clock.move(-1.0)
    clock.move_to(2.0)
    assert clock.now_s() == 5.0


def test_the_fakes_are_the_ports_they_stand_for() -> None:
    """What runs with them runs with a real device."""
    duplex: Duplex = FakeDuplex([], FakeClock())
    taps: TapSource = FakeTaps([], FakeClock())
    assert (duplex.name, taps.name) == ("fake sound card", "fake keys")
    assert (duplex.rate, duplex.claimed_delay_s, taps.stamp_error_s) == (RATE, 0.0, 0.0)


@pytest.mark.long
def test_an_hour_needs_no_more_memory_than_a_minute() -> None:
    """A track is streamed, never held: memory stays flat over a simulated hour."""
    import tracemalloc  # noqa: PLC0415  (traces what is made from here on)

    def hour() -> Iterator[Block]:
        page = noise(1)
        for _ in range(3600):
            yield page

    port = FakeDuplex(hour(), FakeClock(), FakeSound(block=1024, room=Room(delay=900, noise=1e-3)))
    line = ClockLine(RATE)
    tracemalloc.start()
    most: list[int] = []
    with port:
        while port.ended is None:
            for stamp in port.poll(0.05).stamps:
                line.add(stamp.frame, stamp.time_s)
                if stamp.frame % (60 * RATE) < 1024:
                    most.append(tracemalloc.get_traced_memory()[0])
    tracemalloc.stop()
    assert len(most) == 60 + 1
    assert most[-1] - most[1] < 2_000_000
