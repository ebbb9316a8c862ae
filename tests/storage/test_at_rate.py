"""A recording at the loudspeaker's own rate: nothing moves, nothing is lost."""

import numpy as np
import pytest

from rhythmtrain.storage.at_rate import at_rate

CENTRE_S, WIDTH_S = 1.2345, 0.002


@pytest.mark.parametrize(
    ("from_rate", "to_rate"),
    [(22_050, 48_000), (44_100, 48_000), (48_000, 44_100), (8_000, 48_000)],
)
def test_a_stroke_stays_where_it_was(from_rate: int, to_rate: int) -> None:
    """Taps fall on what is heard: a shift here would be a shift of every tap."""
    times = np.arange(3 * from_rate) / from_rate
    sound = np.exp(-0.5 * ((times - CENTRE_S) / WIDTH_S) ** 2).astype(np.float32)
    blocks = [*np.array_split(sound, 7), np.zeros(0, np.float32)]
    moved = np.concatenate(list(at_rate(blocks, from_rate, to_rate)))
    at = np.arange(moved.size) / to_rate
    assert abs(moved.size - 3 * to_rate) <= 1
    assert float((at * moved).sum() / moved.sum()) == pytest.approx(CENTRE_S, abs=1e-5)
    assert moved.max() == pytest.approx(1.0, abs=0.01)


def test_at_its_own_rate_it_is_handed_on_as_it_is() -> None:
    """No library is asked, no sample changes."""
    blocks = [np.arange(5, dtype=np.float32), np.arange(3, dtype=np.float32)]
    passed = list(at_rate(blocks, 48_000, 48_000))
    assert all(one is other for one, other in zip(passed, blocks, strict=True))


def test_no_sound_at_another_rate_is_no_sound() -> None:
    """An empty stream ends."""
    assert list(at_rate([], 44_100, 48_000)) == []
