"""Making one track: what is asked for is in the file, and what cannot be said is told."""

from pathlib import Path

import pytest
import soundfile

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.tracks.track import TrackWish, layers_named, make_track, planned
from rhythmtrain.remedies import remedy


def _texts(wish: TrackWish, unspoken: frozenset[str] = frozenset()) -> list[str]:
    plan = planned(wish, find_passage(wish.passage), unspoken)
    return [prompt.text for prompt in plan.prompts if prompt.layer is Layer.COUNT]


def test_a_track_is_as_long_as_it_says(rag: Path, tmp_path: Path) -> None:
    """The words, the events and the sound agree."""
    output = tmp_path / "slow.flac"
    told = make_track(TrackWish(str(rag), speed=0.5, repeats=2), output)
    info = soundfile.info(output)
    assert told.document["duration_s"] == pytest.approx(info.frames / info.samplerate, abs=0.001)
    assert told.text.startswith("Kitchen Rag: quarter = 36, 1 min ")
    assert told.files == (output,)
    assert told.warnings == ()
    with soundfile.SoundFile(output) as file:
        assert (file.title, file.comment) == ("Kitchen Rag", "quarter = 36")


def test_a_landmark_without_a_word_is_told_and_covers_no_count(rag: Path, tmp_path: Path) -> None:
    """Letter B is said; the other is not, and the counts in its place stay."""
    odd = "a word nobody recorded"
    wish = TrackWish(str(rag), landmarks=True)
    told = make_track(wish, tmp_path / "a.wav")
    (warning,) = told.warnings
    assert warning.startswith(f"'{odd}' is not spoken: {remedy('record-the-word')}")
    said = [event["text"] for event in told.document["events"] if event["layer"] == "count"]
    assert "letter B" in said
    assert odd not in said
    assert odd in _texts(wish)
    assert said == _texts(wish, frozenset({odd}))
    assert len(said) >= len(_texts(wish))


def test_landmarks_are_not_said_unless_asked_for(rag: Path, tmp_path: Path) -> None:
    """And nothing is warned of."""
    told = make_track(TrackWish(str(rag)), tmp_path / "a.wav")
    assert told.warnings == ()
    assert "letter B" not in [event["text"] for event in told.document["events"]]


def test_a_midi_file_writes_every_landmark(rag: Path, tmp_path: Path) -> None:
    """As a word to read, no voice is needed."""
    output = tmp_path / "a.mid"
    told = make_track(TrackWish(str(rag), landmarks=True), output)
    assert told.warnings == ()
    assert b"a word nobody recorded" in output.read_bytes()


def test_every_word_before_an_entry_can_be_said(rag: Path, tmp_path: Path) -> None:
    """Ready, breathe and bow are in the supplied voice: no warning, and the word is there."""
    text = rag.read_text(encoding="utf-8")
    for word in ("ready", "breathe", "bow"):
        entry = f'[[entry]]\nbar = 9\ncount = "2"\nsay = "{word}"\n'
        rag.write_text(f"{text}\n{entry}", encoding="utf-8")
        told = make_track(TrackWish(str(rag)), tmp_path / "a.wav")
        assert told.warnings == ()
        assert word in [event["text"] for event in told.document["events"]]


def test_own_words_are_taken_from_their_folder(rag: Path, tmp_path: Path) -> None:
    """A landmark that was recorded is said."""
    voice = tmp_path / "voice"
    voice.mkdir()
    rate = 16_000
    tone = [0.5 * ((n // 20) % 2) for n in range(rate // 2)]
    soundfile.write(voice / "a word nobody recorded.wav", tone, rate)
    told = make_track(TrackWish(str(rag), landmarks=True, voice=voice), tmp_path / "a.wav")
    assert told.warnings == ()


def test_a_quick_count_in_has_two_bars(rag: Path) -> None:
    """Counting in twice as slowly first takes two bars, whatever was asked."""
    quick = planned(TrackWish(str(rag), quick=True), find_passage(str(rag)))
    assert quick.count_in_s == pytest.approx(4 * 60 / 72)


def test_layers_are_read_as_typed() -> None:
    """Blanks do not matter; an unknown one is named with what there is."""
    assert layers_named(" clap, click,") == {Layer.CLAP, Layer.CLICK}
    with pytest.raises(RequestError, match="no layer 'drums': choose from"):
        layers_named("drums")
