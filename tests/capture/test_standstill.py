"""A stream that stood still and told nobody: the step is found, and nothing else is taken for one."""

import numpy as np
import pytest

from rhythmtrain.capture.clock import ClockLine
from rhythmtrain.capture.standstill import steps

RATE, BLOCK, BEGIN_S = 48_000, 256, 1000.0
STILL = np.zeros(40)


def uneven(seed: int, size: int = 40, s: float = 0.001) -> np.ndarray:
    """Return points as a busy machine leaves them."""
    return np.random.default_rng(seed).exponential(s, size)


@pytest.mark.parametrize("height_s", [-0.5, -0.04, 0.04, 1.2])
@pytest.mark.parametrize("at", [3, 17, 38])
def test_a_step_is_found_where_it_is(height_s: float, at: int) -> None:
    """Up or down, early or with two points left: the last before and the first after it."""
    late = uneven(1) + height_s * (np.arange(40) >= at)
    assert steps(late) == ((at - 1, at),)


def test_a_point_between_two_levels_belongs_to_neither() -> None:
    """After a standstill a server asks for its buffers at once, as it does when it begins."""
    late = uneven(2) + 0.8 * (np.arange(40) >= 20)
    late[20] = 0.3
    assert steps(late) == ((19, 21),)


def test_two_steps_are_two() -> None:
    """A machine that stands still once stands still again."""
    late = uneven(3) + 0.5 * (np.arange(40) >= 12) + 0.7 * (np.arange(40) >= 25)
    assert steps(late) == ((11, 12), (24, 25))


@pytest.mark.parametrize("seed", range(60))
def test_a_busy_machine_is_no_standstill(seed: int) -> None:
    """Late groups come back, first buffers fill early, a quartz drifts: no honest take is cut up."""
    random = np.random.default_rng(seed)
    late = uneven(seed, 120, 0.002) + np.arange(120) * 0.28 * random.uniform(-3e-4, 3e-4)
    late[random.integers(4, 116)] += random.choice([-0.2, 0.06, 0.4])
    late[:4] -= 0.25 * np.arange(4, 0, -1)
    assert steps(late) == ()


def stamped(*, stood_s: float, at_s: float, seconds: float = 20.0) -> ClockLine:
    """Return the stamps of a stream that stands still for ``stood_s`` at ``at_s`` and says nothing."""
    random = np.random.default_rng(5)
    line = ClockLine(RATE)
    for frame in range(0, round(seconds * RATE), BLOCK):
        late_s = stood_s if frame / RATE >= at_s else 0.0
        line.add(frame, BEGIN_S + frame / RATE + late_s + random.exponential(0.0005))
    return line


@pytest.mark.parametrize("stood_s", [0.05, 0.4, 2.0])
def test_who_goes_with_the_sound_is_right_before_and_after_a_standstill(stood_s: float) -> None:
    """All that comes after it would seem early by as long as the sound stood still."""
    model = stamped(stood_s=stood_s, at_s=9.0).model()
    ((first_s, last_s),) = model.stood_s
    assert first_s <= 9.0 <= last_s <= first_s + 0.6
    for track_s in (1.0, 5.0, first_s - 0.01):
        assert model.track_seconds(BEGIN_S + track_s) == pytest.approx(track_s, abs=0.001)
    for track_s in (last_s + 0.01, 12.0, 19.0):
        clock_s = BEGIN_S + track_s + stood_s
        assert model.track_seconds(clock_s) == pytest.approx(track_s, abs=0.001)
        assert model.clock_seconds(track_s) == pytest.approx(clock_s, abs=0.001)


def test_what_seems_to_lie_in_a_standstill_lies_in_the_span_that_is_told() -> None:
    """Whatever is touched while the sound stands still is known to be unknown."""
    model = stamped(stood_s=1.0, at_s=9.0).model()
    ((first_s, last_s),) = model.stood_s
    for late_s in (0.05, 0.3, 0.6, 0.95):
        assert first_s <= model.track_seconds(BEGIN_S + 9.0 + late_s) <= last_s
