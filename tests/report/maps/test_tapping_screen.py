"""What stands on the screen while beats are tapped."""

import pytest

from rhythmtrain.report.maps.tapping_screen import CARE, ENOUGH, Tapping, tapping_lines

BARS = Tapping("piano.flac", 92.0, 45, 3, 18)


@pytest.mark.parametrize(
    ("taps", "reached"),
    [
        (0, "listen, and begin with bar 45"),
        (1, "bar 45, beat 1   (1 of 18 beats)"),
        (5, "bar 46, beat 2   (5 of 18 beats)"),
        (17, "bar 50, beat 2   (17 of 18 beats)"),
        (18, ENOUGH),
        (20, ENOUGH),
    ],
)
def test_it_says_which_beat_was_reached(taps: int, reached: str) -> None:
    """Whoever lost count sees it while the bars are still coming."""
    lines = tapping_lines(BARS, 95.25, taps, columns=80)
    assert f"   {reached}" in lines
    assert "   1:35.2" in lines
    assert "Tap bars 45 to 50, every beat, from beat 1 of bar 45 on." in lines
    assert CARE in lines


def test_without_a_number_of_bars_one_goes_on_as_long_as_one_likes() -> None:
    """Until Escape."""
    lines = tapping_lines(Tapping("p.flac", 0.0, 1, 4, None, "midi"), 1.0, 9, columns=36)
    assert "   bar 3, beat 1   (nine beats)" in lines
    assert "Tap on one pad or key." in lines
    assert max(map(len, lines)) <= 36
