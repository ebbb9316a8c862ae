"""Takes that are lists of times: text files of seconds and MIDI files."""

from pathlib import Path

import mido
import pytest

from rhythmtrain.errors import FileError, TakeError
from rhythmtrain.storage.takes import read_midi_take, read_text_take


def _text(folder: Path, words: str) -> Path:
    path = folder / "take.txt"
    path.write_text(words, encoding="utf-8")
    return path


def test_a_text_take_is_one_time_a_line(tmp_path: Path) -> None:
    """Blank lines, comments and further columns are passed over."""
    path = _text(tmp_path, "# my taps\n0.5\n\n1.25\tclap\n2,extra\n 3.5 # late?\n")
    assert read_text_take(path).times_s == (0.5, 1.25, 2.0, 3.5)


def test_times_out_of_order_are_put_in_order(tmp_path: Path) -> None:
    """A list gathered by hand need not be sorted."""
    assert read_text_take(_text(tmp_path, "2\n1\n")).times_s == (1.0, 2.0)


@pytest.mark.parametrize(
    ("words", "message"),
    [
        ("0.5\nhello\n", "line 2: 'hello' is not a time"),
        ("nan\n", "line 1: nan is not a time within a day"),
        ("1e9\n", "not a time within a day"),
        ("# nothing\n\n", "holds no times"),
    ],
)
def test_what_is_not_a_time_is_named_with_its_line(
    tmp_path: Path, words: str, message: str
) -> None:
    """The writer finds the line at once."""
    with pytest.raises(TakeError, match=message):
        read_text_take(_text(tmp_path, words))


def test_a_text_take_that_is_not_text_is_refused(tmp_path: Path) -> None:
    """A picture renamed to .txt is no take."""
    path = tmp_path / "take.txt"
    path.write_bytes(b"\xff\xfe\x00\x81")
    with pytest.raises(TakeError, match="not a text file of seconds"):
        read_text_take(path)


def test_an_empty_file_says_that_nothing_was_recorded(tmp_path: Path) -> None:
    """The commonest broken upload."""
    with pytest.raises(FileError, match="is empty"):
        read_text_take(_text(tmp_path, ""))


def _midi(folder: Path, messages: list[mido.Message]) -> Path:
    file = mido.MidiFile(ticks_per_beat=480)
    file.tracks.append(mido.MidiTrack(messages))
    path = folder / "take.mid"
    file.save(str(path))
    return path


def test_a_midi_take_has_its_notes_in_seconds_and_their_lengths(tmp_path: Path) -> None:
    """480 ticks at the standard's default tempo (120 quarters a minute) are half a second."""
    notes = [
        mido.Message("note_on", note=60, velocity=90, time=480),
        mido.Message("note_off", note=60, time=240),
        mido.Message("note_on", note=62, velocity=70, time=240),
        mido.Message("note_on", note=62, velocity=0, time=480),
    ]
    take = read_midi_take(_midi(tmp_path, notes))
    assert take.times_s == pytest.approx((0.5, 1.0))
    assert [heard.length_s for heard in take.heard] == pytest.approx([0.25, 0.5])


def test_a_chord_is_one_onset(tmp_path: Path) -> None:
    """A pianist's hand is not three claps."""
    notes = [mido.Message("note_on", note=60 + n, velocity=80, time=5) for n in range(3)]
    assert len(read_midi_take(_midi(tmp_path, notes)).heard) == 1


def test_a_chord_lasts_until_its_last_note_ends(tmp_path: Path) -> None:
    """Whose thumb leaves first has not cut the chord short."""
    notes = [
        mido.Message("note_on", note=60, velocity=80, time=480),
        mido.Message("note_on", note=64, velocity=80, time=5),
        mido.Message("note_off", note=60, time=95),
        mido.Message("note_off", note=64, time=380),
    ]
    (chord,) = read_midi_take(_midi(tmp_path, notes)).heard
    assert chord.length_s == pytest.approx(0.5)


def test_a_note_that_the_pedal_holds_lasts_until_it_comes_up(tmp_path: Path) -> None:
    """Who holds long notes with the foot did not cut them short; a key struck again ends its note."""
    file = mido.MidiFile(ticks_per_beat=100)
    played = [
        mido.Message("note_on", note=60, velocity=80, time=0),
        mido.Message("note_off", note=60, time=50),
        mido.Message("note_on", note=60, velocity=80, time=150),
        mido.Message("note_off", note=60, time=50),
        mido.Message("note_on", note=62, velocity=80, time=150),
        mido.Message("note_off", note=62, time=50),
    ]
    foot = [
        mido.Message("control_change", control=64, value=100, time=10),
        mido.Message("control_change", control=64, value=30, time=340),
        mido.Message("control_change", control=64, value=127, time=60),
    ]
    file.tracks += [mido.MidiTrack(played), mido.MidiTrack(foot)]
    file.save(tmp_path / "foot.mid")
    lengths = [each.length_s for each in read_midi_take(tmp_path / "foot.mid").heard]
    # 100 ticks are half a second; the last pedal never comes up, so the finger tells.
    assert lengths == pytest.approx([1.0, 0.75, 0.25])


def test_damage_of_a_midi_take_is_said(tmp_path: Path) -> None:
    """What is missing at the end was perhaps played."""
    notes = [mido.Message("note_on", note=60, velocity=90, time=480) for _ in range(4)]
    path = _midi(tmp_path, notes)
    assert read_midi_take(path).remarks == ()
    path.write_bytes(path.read_bytes()[:-6])
    take = read_midi_take(path)
    assert len(take.heard) == 3
    assert any("track 1 is damaged" in remark for remark in take.remarks)
    assert all(remark.startswith("take.mid: ") for remark in take.remarks)


def test_a_midi_file_without_notes_says_so(tmp_path: Path) -> None:
    """A file of pedal only."""
    with pytest.raises(TakeError, match="no notes"):
        read_midi_take(_midi(tmp_path, [mido.Message("control_change", control=64, value=1)]))


def test_rubbish_named_midi_is_refused(tmp_path: Path) -> None:
    """One line, no traceback."""
    path = tmp_path / "take.mid"
    path.write_bytes(b"MThd\x00\x00\x00\x06\x00\x01 and then rubbish")
    with pytest.raises(FileError, match="not a MIDI file"):
        read_midi_take(path)
