"""From a take to a drill file: claps as text, MIDI or sound."""

from pathlib import Path

import pytest
import soundfile

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.rehearsal.checking.listening import hear_take
from rhythmtrain.rehearsal.checking.transcribe import TranscribeWish, transcribe_file
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.countline.writer import write_bars
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import notes_of
from tests.simulate.talked_takes import talked_take

CLAPS = "0.50 0.92 1.33 1.75 2.17 2.79 3.00 3.83 4.25 4.46 4.67 4.88 5.50"


def take(folder: Path, times: str = CLAPS) -> Path:
    """Return the path of a take of claps at quarter = 72."""
    path = folder / "claps.txt"
    path.write_text("\n".join(times.split()), encoding="utf-8")
    return path


def test_a_take_becomes_a_drill_that_can_be_practised(tmp_path: Path) -> None:
    """The file reads back as the passage that was told."""
    goal = tmp_path / "drill.toml"
    told = transcribe_file(take(tmp_path), TranscribeWish("2/4", 72, output=goal, title="Gate"))
    passage = find_passage(str(goal))
    assert (
        write_bars(passage.bars) == told.document["rhythm"] == "1 & 2 & | 1 a 2 | 1 & a 2 e | 1 [2]"
    )
    assert (passage.title, float(passage.tempo)) == ("Gate", 72)
    assert told.files == (goal,)
    assert goal.read_text(encoding="utf-8").startswith("# Written down from claps.txt.")


@pytest.mark.parametrize("ending", ["mid", "wav"])
def test_a_track_of_ours_is_written_down_as_its_drill(tmp_path: Path, ending: str) -> None:
    """Sound and MIDI of the clapped rhythm lead back to it; the click on the pads is not played."""
    path = tmp_path / f"track.{ending}"
    layers = "clap,click" if ending == "mid" else "clap"
    make_track(TrackWish("towpath-rag", layers=layers, count_in=0), path)
    told = transcribe_file(path, TranscribeWish("2/4", 72))
    assert told.document["rhythm"].replace("\n", " ") == (
        "1 e a 2 & | 1 e a 2 & | 1 e a 2 e a | [1] & 2 & | 1 e a 2 e & a | [1] e a 2 & | "
        "1 e & a 2 e a | [1] & 2"
    )
    assert all(bar["chance"] > 0.9 for bar in told.document["bars"])


def test_what_is_doubtful_stands_in_text_file_and_document(tmp_path: Path) -> None:
    """A clap half way between the last sixteenth and the last triplet."""
    times = CLAPS.replace("2.79", "2.755")
    goal = tmp_path / "drill.toml"
    told = transcribe_file(take(tmp_path, times), TranscribeWish("2/4", 72, output=goal))
    doubtful = [bar for bar in told.document["bars"] if bar["doubtful"]]
    assert [bar["bar"] for bar in doubtful] == [2]
    assert "Look at bar 2 first (?)" in told.text
    assert "on 1 it could be 1 1li" in told.text
    assert "# Bar 2:" in goal.read_text(encoding="utf-8")


def test_a_guessed_tempo_is_said_to_be_guessed(tmp_path: Path) -> None:
    """And what to do about it."""
    told = transcribe_file(take(tmp_path), TranscribeWish("2/4"))
    assert told.document["tempo_guessed"] is True
    assert "say --tempo" in told.worded(as_typed).text


def test_tries_and_those_left_out_are_said(tmp_path: Path) -> None:
    """A false start does not count."""
    once = [float(word) for word in CLAPS.split()]
    times = [*once[:4], *(each + 9 for each in once), *(each + 20 for each in once)]
    told = transcribe_file(take(tmp_path, " ".join(map(str, times))), TranscribeWish("2/4", 72))
    assert (told.document["tries"], told.document["left_out"]) == (2, [4])
    assert "26 claps in 2 tries" in told.text
    assert "A try with four claps is left out: the others have 13." in told.text


def test_a_passage_that_comes_straight_again_is_spoken_of(tmp_path: Path) -> None:
    """It may have been two tries."""
    times = " ".join(str(0.5 * index) for index in (0, 1, 2, 4, 6, 8, 9, 10, 12, 14))
    told = transcribe_file(take(tmp_path, times), TranscribeWish("2/4", 60))
    assert "if those were tries, say --times 2" in told.worded(as_typed).text
    again = transcribe_file(take(tmp_path, times), TranscribeWish("2/4", 60, times=2))
    assert (again.document["tries"], len(again.document["bars"])) == (2, 2)


@pytest.mark.parametrize(
    ("wish", "words"),
    [
        (TranscribeWish(), "say the metre, such as .value.metre.2/4"),
        (TranscribeWish("two"), "'two' is not a metre"),
        (TranscribeWish("2/4", beat="dotted quarter"), "cannot be counted in dotted quarter beats"),
        (TranscribeWish("2/4", first="3"), "first.3.: beat 3 is named, but 2/4 has two beats"),
        (TranscribeWish("2/4", 0), "tempo must be more than 0"),
        (TranscribeWish("2/4 " * 1000), "1000 metres"),
        (TranscribeWish("2/4", times=2), "13 claps do not divide into 2 tries"),
        (TranscribeWish("2/4", output=Path("drill.wav")), "name it like drill.toml"),
    ],
)
def test_a_wish_that_makes_no_sense_is_one_line(
    tmp_path: Path, wish: TranscribeWish, words: str
) -> None:
    """The thing, the value, what is allowed."""
    with pytest.raises(RequestError, match=words):
        transcribe_file(take(tmp_path), wish)


def test_two_claps_are_no_rhythm(tmp_path: Path) -> None:
    """One line."""
    with pytest.raises(TakeError, match="claps can be written down, not 2"):
        transcribe_file(take(tmp_path, "1 2"), TranscribeWish("2/4", 72))


@pytest.mark.parametrize("number", [0, 1, 2])
def test_talk_before_the_claps_is_not_written_down(number: int, tmp_path: Path) -> None:
    """People say what they are going to clap, and the recorder runs."""
    taken = talked_take("held out", number, -3.0)
    soundfile.write(tmp_path / "t.wav", taken.sound, taken.rate)
    told = transcribe_file(tmp_path / "t.wav", TranscribeWish("2/4", round(taken.tempo)))
    bars = read_bars(told.document["rhythm"], Metre.parse("2/4"))
    meant = read_bars(taken.rhythm, Metre.parse("2/4"))
    assert [note.at for note in notes_of(bars)] == [note.at for note in notes_of(meant)]


def test_a_take_that_is_heard_plainly_keeps_the_talk(tmp_path: Path) -> None:
    """The sorting does the work above."""
    taken = talked_take("held out", 0, -3.0)
    soundfile.write(tmp_path / "t.wav", taken.sound, taken.rate)
    claps = len(notes_of(read_bars(taken.rhythm, Metre.parse("2/4"))))
    assert len(hear_take(tmp_path / "t.wav", aloud=True).times_s) == claps
    assert len(hear_take(tmp_path / "t.wav", aloud=False).times_s) > claps
