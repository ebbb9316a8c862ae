"""What a take is held against beside a recording: the mapped bars, the speed, the places to meet."""

from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest
import soundfile

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.checking.beside_recording import Beside, BesideWish, beside_recording
from rhythmtrain.rehearsal.passages.passages import Wish, find_passage
from rhythmtrain.rehearsal.recorded.accompaniment import RecordingFiles, mapped_bars

DRILL = """
title = "Weir Song"
metre = "4/4"
tempo = 60
rhythm = "1 2 3 4 | 1 2 & 3 | rest 2 | (1) 2 3 4 | 1 2 3"
[accompaniment]
recording = "piano.wav"
{beats}
{meet}
"""
# Beats half a second apart: the recording goes at twice the written tempo.
BEATS = "".join(f"{1 + n / 2}\t{1 + n // 4}.{1 + n % 4}\t0.01\n" for n in range(25))
ONCE, TWICE = "1 2 3 4 | 1 2 & 3 | rest 2 |", "|: 1 2 3 4 | 1 2 & 3 :|"


@dataclass(frozen=True, slots=True)
class Cupboard:
    """A drill with a recording and a map beside it."""

    drill: Path

    def beside(self, wish: Wish | None = None, asked: BesideWish | None = None) -> Beside:
        """Return its passage laid on the recording."""
        wish = wish or Wish(str(self.drill))
        passage, whole = find_passage(wish.passage, wish.bars), find_passage(wish.passage)
        return beside_recording(wish, asked or BesideWish(), passage, whole, start_s=None)


def cupboard(folder: Path, *, beats: str = BEATS, meet: str = "", named: bool = True) -> Cupboard:
    """Write the files."""
    soundfile.write(folder / "piano.wav", np.zeros(20 * 8000, np.float32), 8000)
    (folder / "piano.beats").write_text(beats, encoding="utf-8")
    drill = folder / "weir.toml"
    beats_key = 'beats = "piano.beats"' if named else ""
    drill.write_text(DRILL.format(beats=beats_key, meet=meet), encoding="utf-8")
    return Cupboard(drill)


def only(first: str, last: str) -> str:
    """Return the map from beat ``first`` to ``last``."""
    lines = BEATS.splitlines()
    places = [line.split("\t")[1] for line in lines]
    return "\n".join(lines[places.index(first) : places.index(last) + 1])


def test_written_places_fall_at_the_mapped_seconds(tmp_path: Path) -> None:
    """At the recording's speed and at half of it."""
    found = cupboard(tmp_path)
    assert found.beside().timeline.seconds(Fraction(8)) == pytest.approx(4.0)
    slow = found.beside(Wish(str(found.drill), speed=0.5))
    assert slow.timeline.seconds(Fraction(8)) == pytest.approx(8.0)
    assert slow.timeline.uncertainty_s(Fraction(8)) == pytest.approx(0.02)
    assert slow.settings.speed == 0.5


def test_a_tempo_is_of_the_recording_s_own(tmp_path: Path) -> None:
    """Sixty beats a minute of a recording at 120 is half its speed, whatever is written."""
    found = cupboard(tmp_path)
    slow = found.beside(Wish(str(found.drill), tempo=60))
    assert slow.settings.speed == pytest.approx(0.5)
    assert found.beside().settings.speed is None


@pytest.mark.parametrize(
    ("first", "last", "bars", "words"),
    [
        ("2.1", "5.1", (2, 4), "only bars 2 to 4 were checked: the beat map holds no more"),
        ("5.1", "6.3", (5, 6), "only bars 5 to 6 were checked"),
        ("4.3", "6.1", (5, 5), "only bar 5 was checked"),
    ],
)
def test_of_a_map_of_a_few_bars_only_these_are_checked(
    tmp_path: Path, first: str, last: str, bars: tuple[int, int], words: str
) -> None:
    """The bars that matter are mapped in a minute; the rest need not be."""
    found = cupboard(tmp_path, beats=only(first, last)).beside()
    numbers = [bar.bar.number for bar in found.timeline.bars]
    assert (numbers[0], numbers[-1]) == bars == found.cut
    assert found.settings.remarks[0].startswith(words)


def test_repeats_that_the_recording_plays_are_checked_each_time_through(tmp_path: Path) -> None:
    """Bars 1 and 2 come twice in the recording, and the whole is practised twice."""
    found = cupboard(tmp_path)
    text = found.drill.read_text(encoding="utf-8")
    found.drill.write_text(text.replace(ONCE, TWICE))
    twice = found.beside(Wish(str(found.drill), repeats=2), BesideWish(lead_in=0))
    assert twice.cut is None
    numbers = [bar.bar.number for bar in twice.timeline.bars]
    assert numbers == 2 * [1, 2, 1, 2, 3, 4]
    starts_s = [float(twice.timeline.track_seconds(bar.start)) for bar in twice.timeline.bars]
    assert starts_s == pytest.approx([2.0 * place for place in range(12)])
    beats = "\n".join(BEATS.splitlines()[8:])
    late = cupboard(tmp_path, beats=beats)
    late.drill.write_text(text.replace(ONCE, TWICE))
    part = late.beside(Wish(str(late.drill), repeats=2), BesideWish(lead_in=0))
    assert part.cut == (3, 4)
    assert [bar.bar.number for bar in part.timeline.bars] == [3, 4, 3, 4]


def test_bars_asked_for_that_are_not_mapped_are_refused(tmp_path: Path) -> None:
    """Somebody who names bars means these."""
    found = cupboard(tmp_path, beats=only("2.1", "4.4"))
    with pytest.raises(RequestError, match=r"covers 2\.1 to 4\.4, not bar 5"):
        found.beside(Wish(str(found.drill), bars="3-5"))
    assert found.beside(Wish(str(found.drill), bars="3-4")).cut is None


def test_a_map_of_other_bars_is_refused(tmp_path: Path) -> None:
    """Nothing of the passage is in it."""
    beats = "".join(f"{1 + n / 2}\t{41 + n // 4}.{1 + n % 4}\n" for n in range(9))
    with pytest.raises(RequestError, match="covers bars 41 to 43, not the bars 1 to 6"):
        cupboard(tmp_path, beats=beats).beside()


@pytest.mark.parametrize(
    ("meet", "asked", "bars"),
    [
        ("", BesideWish(), None),
        ("", BesideWish(freely=True), ()),
        ("meet = [1, 5]", BesideWish(), (1, 5)),
        ("meet = [1, 5]", BesideWish(meet="2, 6"), (2, 6)),
    ],
)
def test_the_places_to_meet_come_from_the_option_or_the_drill(
    tmp_path: Path, meet: str, asked: BesideWish, bars: tuple[int, ...] | None
) -> None:
    """Without either, every note is held against the recording; its speed is as it was said."""
    files = cupboard(tmp_path, meet=meet)
    found = files.beside(asked=asked)
    assert (found.settings.meet, found.settings.speed) == (bars, None)
    slowed = files.beside(Wish(str(files.drill), speed=0.8), asked)
    assert (slowed.settings.meet, slowed.settings.speed) == (bars, 0.8)


@pytest.mark.parametrize(("meet", "words"), [("one", "like 1,5,9, got 'one'"), ("9", "no bar 9")])
def test_a_place_to_meet_that_is_none_is_said(tmp_path: Path, meet: str, words: str) -> None:
    """With the bars that there are."""
    with pytest.raises(RequestError, match=words):
        cupboard(tmp_path).beside(asked=BesideWish(meet=meet))


def test_without_recording_or_map_the_remedy_is_said(tmp_path: Path) -> None:
    """How to make a map, or how to give a recording."""
    found = cupboard(tmp_path, named=False)
    with pytest.raises(RequestError, match=r"map-all-of.piano.wav"):
        found.beside()
    with pytest.raises(RequestError, match="has no recorded accompaniment"):
        mapped_bars("off-beats", find_passage("off-beats"))
    files = RecordingFiles(beats=tmp_path / "piano.beats")
    assert mapped_bars(str(found.drill), find_passage(str(found.drill)), files=files) == (1, 6)
