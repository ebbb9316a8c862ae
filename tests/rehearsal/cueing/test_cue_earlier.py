"""A cue that comes before its time too is named before one has followed it."""

from pathlib import Path

import pytest

from rhythmtrain.rehearsal.cueing.cue import CueWish, tell_cue
from tests.rehearsal.cueing.test_cue_followed import CUED, mill
from tests.rehearsal.cueing.test_cue_known import NOTED, RECORDED, make_recording, score

WARNED = "Earlier the same cue leads to bar 9: count the bars, so that you follow the right one."


@pytest.mark.parametrize("more", [CUED, NOTED], ids=["cue line", "notes"])
def test_whoever_listens_for_a_cue_that_comes_twice_is_warned(tmp_path: Path, more: str) -> None:
    """Bar 8 sounds like bar 10: only counting tells them apart."""
    score(tmp_path, 8)
    told = tell_cue(CueWish(mill(tmp_path, more)))
    assert told.text.splitlines()[1] == WARNED
    assert told.document["leads_earlier_to"] == [9]


def test_nobody_is_warned_of_a_cue_that_comes_once(tmp_path: Path) -> None:
    """There is nothing to mistake it for."""
    score(tmp_path)
    told = tell_cue(CueWish(mill(tmp_path, NOTED)))
    assert "Earlier" not in told.text
    assert told.document["leads_earlier_to"] == []


def test_a_cue_that_comes_again_after_the_entry_misleads_nobody() -> None:
    """By then one is playing: the supplied call and answer has one in bar 7."""
    assert "Earlier" not in tell_cue(CueWish("09-call-and-answer", entry=7)).text


def test_a_recording_alone_promises_nothing(tmp_path: Path) -> None:
    """It tells of such a cue after a take; to promise it before one, it is not sure enough."""
    make_recording(tmp_path, 8)
    assert "Earlier" not in tell_cue(CueWish(mill(tmp_path, RECORDED))).text
