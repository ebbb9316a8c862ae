"""What may have been put on the wrong side when claps were told from talk is told."""

from pathlib import Path

import pytest
import soundfile

from rhythmtrain.capture.take import Heard, Take
from rhythmtrain.rehearsal.checking.talk_doubts import talk_doubts
from rhythmtrain.rehearsal.checking.transcribe import TranscribeWish, transcribe_file
from rhythmtrain.score.countline.countline import read_bars
from rhythmtrain.score.passage import notes_of
from tests.simulate.talked_takes import METRE, talked_take

CLAPS = (4.0, 4.4, 5.0, 5.4, 6.0, 6.4, 7.0, 7.8, 8.2, 9.0)


def heard(*times: float) -> Take:
    """Return a take in which something is heard at ``times``."""
    return Take("audio", "t.wav", tuple(Heard(at) for at in sorted(times)), 12.0)


@pytest.mark.parametrize("number", [417, 501])
def test_a_clap_among_the_claps_is_written_down_or_named(number: int, tmp_path: Path) -> None:
    """In these takes one was taken for talk, and the rhythm without it looked as sure as any."""
    taken = talked_take("held out", number, -6.0)
    soundfile.write(tmp_path / "t.wav", taken.sound, taken.rate)
    told = transcribe_file(tmp_path / "t.wav", TranscribeWish("2/4", round(taken.tempo)))
    written = notes_of(read_bars(told.document["rhythm"], METRE))
    meant = notes_of(read_bars(taken.rhythm, METRE))
    whole = [note.at for note in written] == [note.at for note in meant]
    assert whole or any("something was taken for talk" in words for words in told.warnings)
    assert len(told.warnings) == (0 if whole else 1)


def test_a_clap_taken_for_talk_is_named_with_its_second() -> None:
    """So that it can be listened to."""
    assert talk_doubts(heard(*CLAPS), heard(0.5, 4.8, *CLAPS)) == (
        (
            "among the claps, at 4.8 s, something was taken for talk and is not written down: if it was a "
            "clap, the rhythm has one more there"
        ),
    )


def test_talk_before_and_after_the_claps_needs_no_word() -> None:
    """There it is as it should be."""
    assert talk_doubts(heard(*CLAPS), heard(0.5, 0.9, 1.4, *CLAPS, 10.1, 10.3)) == ()


def test_talk_all_through_the_claps_needs_no_word() -> None:
    """Who counts aloud knows it."""
    assert talk_doubts(heard(*CLAPS), heard(4.2, 4.8, 5.8, 6.8, *CLAPS)) == ()


def test_what_is_heard_a_little_beside_a_clap_is_that_clap() -> None:
    """Two ways of hearing place it a hair apart."""
    assert talk_doubts(heard(*CLAPS), heard(*(at + 0.02 for at in CLAPS))) == ()


@pytest.mark.parametrize(
    ("times", "words"),
    [
        ((1.5, *CLAPS), "the first clap, at 1.5 s, stands alone, 2.5 s before the others: if it"),
        ((*CLAPS, 11.5), "the last clap, at 11.5 s, stands alone, 2.5 s after the others: if it"),
    ],
)
def test_a_clap_that_stands_alone_is_named(times: tuple[float, ...], words: str) -> None:
    """A word may be taken for it, and then bars of rest begin the drill."""
    (told,) = talk_doubts(heard(*times), heard(*times))
    assert told.startswith(words)


def test_a_rhythm_with_long_rests_has_claps_that_stand_apart() -> None:
    """Where silence is common nothing is odd about it."""
    rests = (0.0, 2.5, 3.0, 5.5, 6.0, 8.5, 9.0, 11.5)
    assert talk_doubts(heard(*rests), heard(*rests)) == ()


def test_of_few_claps_nothing_can_be_said() -> None:
    """Any of them stands alone."""
    assert talk_doubts(heard(0.0, 3.0, 3.5), heard(0.0, 3.0, 3.2, 3.5)) == ()
