"""Counting aloud in a recording: who did not say so, or counted too loud, is told what to do."""

from dataclasses import replace
from pathlib import Path

import pytest
import soundfile

from rhythmtrain.assess.clapped_rows import Instead, Row
from rhythmtrain.capture.take import Heard as HeardOnset
from rhythmtrain.capture.take import Take
from rhythmtrain.errors import TakeError
from rhythmtrain.rehearsal.checking.check import CheckWish, check_file
from rhythmtrain.rehearsal.checking.counted_aloud import SAY_SO, SOFTLY, counted
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.report.take.playing import Playing
from tests.simulate.aloud_takes import aloud_take
from tests.simulate.heard import heard_of, passage_of

CLAPS = Playing("clap", "clap")


@pytest.fixture(scope="module")
def loud(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a recording in which the counting is louder than the claps, and hides them."""
    scene = aloud_take("tune", "voice 0 to +6 dB", 3101).scene
    path = tmp_path_factory.mktemp("loud") / "loud.wav"
    soundfile.write(path, scene.sound, scene.rate)
    return path


def test_who_did_not_say_that_they_counted_is_told_how(loud: Path, rag: Path) -> None:
    """Every word was taken for a clap; the right passage is not what is wrong."""
    told = check_file(loud, CheckWish(str(rag), speed=1.0, repeats=2)).worded(as_typed)
    assert told.document["looks_like_the_passage"] is False
    assert "If you counted aloud while you clapped, say so: --aloud." in told.failure


def test_a_voice_that_hides_the_claps_is_told_what_to_do(loud: Path, rag: Path) -> None:
    """The microphone was on; it heard somebody count."""
    wish = CheckWish(str(rag), speed=1.0, repeats=2, aloud=True)
    with pytest.raises(TakeError, match="count more softly than you clap, or clap nearer"):
        check_file(loud, wish)


def test_it_is_said_only_where_claps_were_listened_for_and_refused() -> None:
    """A list of seconds has no voice in it, a clarinet no claps, and the beat its own words."""
    passage = passage_of("1 e [&] a 2 & | (1) & a 2 | 1 & [2] & | 1 (2)")
    heard = replace(heard_of(passage)[0], playing=CLAPS)
    refused = replace(heard, findings=replace(heard.findings, looks_like=False))
    many = tuple(HeardOnset(float(second)) for second in range(60))
    take = Take("audio", "take", many, 60.0)
    assert counted(refused, take, aloud=False) == SAY_SO
    assert counted(refused, take, aloud=True) == counted(refused, take, aloud=None) == SOFTLY
    assert counted(refused, replace(take, heard=many[:12]), aloud=False) == ""
    assert counted(heard, take, aloud=False) == ""
    assert counted(refused, replace(take, source="text"), aloud=True) == ""
    assert counted(replace(refused, playing=Playing()), take, aloud=True) == ""
    beat = replace(refused.findings, instead=Instead(Row.BEAT, 1.0, 0.02, (1,)))
    assert counted(replace(refused, findings=beat), take, aloud=True) == ""
