"""How loud a recording is, and what is no recording."""

import numpy as np
import pytest

from rhythmtrain.errors import TakeError
from rhythmtrain.hearing.onsets.level import as_mono, check_audible, checked_rate, measured_level


def test_the_level_of_a_full_scale_square_is_zero_and_clipped() -> None:
    """A player whose microphone overloads can be told so."""
    level = measured_level(np.array([1, -1, 1, -1], np.float32))
    assert level.peak_dbfs == pytest.approx(0)
    assert level.clipped_share == 1
    assert level.offset == 0


def test_the_level_of_silence_is_minus_infinity() -> None:
    """Silence has a level, not an error; refusing it is another function's work."""
    assert measured_level(np.zeros(5, np.float32)).peak_dbfs == -np.inf


@pytest.mark.parametrize(
    ("dtype", "value"), [("int16", -16384), ("uint8", 64), ("int32", -(2**30)), ("float64", -0.5)]
)
def test_every_sample_format_means_the_same(dtype: str, value: float) -> None:
    """Half of full scale is half of full scale in any file."""
    assert as_mono(np.full(3, value, dtype)) == pytest.approx(-0.5)


def test_channels_are_averaged() -> None:
    """Left and right are heard together."""
    assert as_mono(np.array([[0.5, 0.1], [0.2, 0.0]])) == pytest.approx([0.3, 0.1])


@pytest.mark.parametrize("sound", [np.array(0.5), np.array(["a"]), np.zeros((1, 1, 1))])
def test_what_is_no_sound_is_refused(
    sound: np.ndarray[tuple[int, ...], np.dtype[np.generic]],
) -> None:
    """The message shows the shape that came."""
    with pytest.raises(TakeError, match="shape"):
        as_mono(sound)


def test_a_recording_just_loud_enough_is_heard() -> None:
    """The limit is -90 dBFS around the recording's own middle, not more."""
    check_audible(-4e-5, 4e-5, 10)
    with pytest.raises(TakeError, match="below -90 dBFS"):
        check_audible(0.2 - 2e-5, 0.2 + 2e-5, 10)


def test_whole_rates_from_eight_kilohertz_pass() -> None:
    """Rates come from files as whole numbers, also as whole floats."""
    assert checked_rate(8000.0) == 8000
