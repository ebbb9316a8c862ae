"""What is told of a beat map, and in which order a person can use it."""

from dataclasses import replace

import pytest

from rhythmtrain.report.maps.text import Mapped, map_text, mostly_in_doubt
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat


def mapped(*unsure: float, doubtful: tuple[int, ...] = (2,)) -> Mapped:
    """Return a map in two beats a bar, a beat a second, so uncertain beat by beat."""
    beats = tuple(
        MappedBeat(1.0 + beat, 1 + beat // 2, 1 + beat % 2, each)
        for beat, each in enumerate(unsure)
    )
    return Mapped("piano.flac", 10.0, "2/4", BeatMap(beats), doubtful, None, (0.5, 9.0))


def said(told: Mapped, **more: object) -> str:
    """Return the text as one line."""
    return " ".join(map_text(told, **more).split())  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("unsure", "words"),
    [
        ((0.01, 0.01, 0.2, 0.2), "where the bar begins (--at 2=3.00)"),
        ((0.01, 0.01, 0.01, 0.2), "where its beat 2 falls (--at 2.2=4.00)"),
        ((0.01, 0.01, 0.2, 0.01), "where the bar begins (--at 2=3.00)"),
    ],
)
def test_what_is_asked_for_is_what_is_not_known(unsure: tuple[float, ...], words: str) -> None:
    """Nobody marks once more the beginning of a bar that was marked already."""
    assert words in said(mapped(*unsure))


def test_how_many_bars_there_are_is_asked_before_single_bars() -> None:
    """While bars are counted wrongly, hearing one after the other is wasted."""
    text = said(mapped(0.3, 0.3, 0.3, 0.3), asked=("Is a repeat played?",))
    assert text.index("Is a repeat played?") < text.index("Hear these bars first")


def test_a_map_that_is_not_known_is_not_praised_in_milliseconds() -> None:
    """Known to 951 ms is not known."""
    assert "known to 12 ms or better, and 3 of 4 to 30 ms" in said(mapped(0.01, 0.01, 0.012, 0.5))
    text = said(mapped(0.95, 0.95, 0.02, 0.95))
    assert "Half of the beats may lie 0.9 s beside their place or more; 1 of 4 are" in text


def test_a_map_without_doubt_still_says_how_a_miscount_is_heard() -> None:
    """A miscount can look sure of itself."""
    text = said(replace(mapped(0.01, 0.01, 0.01, 0.01), unsure_bars=()))
    assert "No bar is in doubt" in text
    assert "hear the last bars" in text


@pytest.mark.parametrize(
    ("doubtful", "bars", "most"), [(12, 23, True), (12, 24, False), (11, 12, False), (40, 44, True)]
)
def test_most_bars_are_in_doubt_where_they_are_many_and_more_than_half(
    doubtful: int, bars: int, *, most: bool
) -> None:
    """At the page and in words alike one mark is asked for then."""
    assert mostly_in_doubt(doubtful, bars) is most


def test_where_most_is_in_doubt_one_mark_is_asked_for() -> None:
    """Thirty bars to hear are an evening lost; one mark in their midst settles most of them."""
    told = mapped(*[0.3] * 48, doubtful=(11, *range(2, 11), *range(12, 23)))
    text = said(told, kept_in="piano.beats")
    assert (
        "21 of 24 bars are in doubt. Begin with bar 11 (0:21.0), because a mark there settles most"
        in text
    )
    assert "(--again piano.beats --at 11=21.00)" in text
    assert "Hear these bars first" not in text
    few = said(replace(told, unsure_bars=told.unsure_bars[:12]))
    assert "Hear these bars first: 11 (0:21.0)" in few
    assert "and six more bars after these" in few
