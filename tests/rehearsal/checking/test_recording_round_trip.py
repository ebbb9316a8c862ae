"""A track over a recording is practised to, and the take is held against what that track was."""

from fractions import Fraction
from pathlib import Path

import numpy as np
import pytest

from rhythmtrain.rehearsal.checking.check import CheckWish, check
from rhythmtrain.rehearsal.checking.checked import document
from rhythmtrain.rehearsal.passages.passages import find_passage, whole_passage
from rhythmtrain.rehearsal.tracks.recordings import accompanied
from rhythmtrain.rehearsal.tracks.track import TrackWish

NAME = "32-sluice-gate-rag"


@pytest.mark.parametrize("given", [True, False], ids=["start given", "start found"])
@pytest.mark.parametrize(("bars", "lead_in"), [("5-8", 2), ("10-17", 2), ("5-8", 1), ("14-17", 0)])
def test_every_repeat_is_expected_where_the_track_had_it(
    tmp_path: Path, bars: str, lead_in: int, *, given: bool
) -> None:
    """Between the repeats of a track the recording leads in again: nobody is two bars late for it."""
    wish = TrackWish(NAME, bars=bars, repeats=3, speed=0.8, layers="accompaniment,click")
    found = accompanied(wish, find_passage(NAME, bars), whole_passage(NAME), lead_in=lead_in)
    timeline = found.timeline
    rng = np.random.default_rng(1)
    times = [
        1.5 + float(timeline.track_seconds(note.at)) + float(rng.normal(0, 0.015))
        for note in timeline.notes
    ]
    take = tmp_path / "take.txt"
    take.write_text("\n".join(map(str, times)), encoding="utf-8")
    start_s = 1.5 + float(timeline.track_seconds(Fraction(0))) if given else None
    asked = CheckWish(
        NAME, bars=bars, repeats=3, speed=0.8, timing="recording", start=start_s, lead_in=lead_in
    )
    told = document(check(take, asked))
    assert told["tally"]["missed"] == told["tally"]["extra"] == 0
    assert {note["verdict"] for note in told["notes"]} == {"in time"}
    # Where the start is found it is found by the first entry, which then cannot be judged.
    first, *later = (entry["verdict"] for entry in told["entries"])
    assert first == "in time" if given else first in ("in time", "not checked")
    assert set(later) == {"in time"}
