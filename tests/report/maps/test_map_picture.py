"""The picture of a beat map: beats where they are, doubt as large as it is."""

import re

import numpy as np
import pytest

from rhythmtrain.errors import RequestError
from rhythmtrain.report.maps.picture import MOST_ROWS, Wave, checked_ending, map_picture
from rhythmtrain.report.maps.text import Mapped
from rhythmtrain.timing.beatmap import BeatMap, MappedBeat

STEP_S = 0.01


def mapped(*, beats: int, unsure_bars: tuple[int, ...] = ()) -> Mapped:
    """Return a map of ``beats`` beats of half a second, four a bar, from bar 45 on."""
    made = tuple(
        MappedBeat(2 + 0.5 * beat, 45 + beat // 4, 1 + beat % 4, 0.01 + 0.15 * (beat == 5))
        for beat in range(beats)
    )
    end_s = made[-1].time_s + 3
    return Mapped("piano.flac", end_s, "4/4", BeatMap(made), unsure_bars, None, (1.0, end_s))


def wave(seconds: float) -> Wave:
    """Return the outline of a swell."""
    high = 0.2 + 0.1 * np.sin(np.arange(0, seconds, STEP_S))
    return Wave(-high, high, STEP_S)


def test_every_bar_has_its_number_and_rows_their_second() -> None:
    """One finds bar 47 at once."""
    whole = mapped(beats=48, unsure_bars=(46,))
    svg = map_picture(whole, wave(whole.duration_s), kind="svg").decode()
    words = re.findall(r"<!-- (.*?) -->", svg)
    assert {str(bar) for bar in range(45, 57)} <= set(words)
    assert [word.strip() for word in words if ":" in word and len(word) < 8] == ["0:01.0", "0:16.0"]


@pytest.mark.parametrize(
    ("kind", "magic"), [("png", b"\x89PNG"), ("pdf", b"%PDF"), ("svg", b"<?xml")]
)
def test_it_is_a_file_of_the_kind_asked_for_and_the_same_every_time(
    kind: str, magic: bytes
) -> None:
    """Whatever the person opens pictures with."""
    few = mapped(beats=4)
    made = map_picture(few, wave(few.duration_s), kind=kind)
    assert made.startswith(magic)
    assert made == map_picture(few, wave(few.duration_s), kind=kind)


def test_doubt_is_drawn_and_moves_the_picture() -> None:
    """Two maps that differ in their doubt alone do not look alike."""
    sure, unsure = mapped(beats=8), mapped(beats=8, unsure_bars=(46,))
    outline = wave(sure.duration_s)
    assert map_picture(sure, outline, kind="svg") != map_picture(unsure, outline, kind="svg")


def test_a_long_piece_is_a_picture_that_opens() -> None:
    """Rows grow longer instead of more."""
    long = mapped(beats=1400)
    png = map_picture(long, wave(long.duration_s), kind="png")
    height = int.from_bytes(png[20:24], "big")
    assert height < 110 * (1.3 * MOST_ROWS + 1)


def test_another_ending_is_refused_with_those_that_are_known() -> None:
    """Before anything was listened to."""
    with pytest.raises(RequestError, match=r"a picture ends in .png, .svg, .pdf, not '.jpg'"):
        checked_ending(".jpg")
    assert checked_ending(".PNG") == "png"
