"""A tune with an upbeat ends in a bar that is cut short; its takes are kept and judged again too."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from rhythmtrain.rehearsal.checking.check import CheckWish, check
from rhythmtrain.rehearsal.checking.checked import document
from rhythmtrain.rehearsal.checking.keeping import judged_again, keep_checked
from rhythmtrain.storage.history.history import open_history
from rhythmtrain.storage.history.lines import line_of, record_of_line
from tests.rehearsal.conftest import Written
from tests.simulate.musicxml_text import attributes, note, part_of, score, sounded

# An upbeat of a quarter, a whole bar, and a last bar of three quarters, at quarter = 60.
SECONDS = [0, 1, 2, 2.5, 3, 4, 5, 6, 7]


@pytest.mark.parametrize("repeats", [1, 2])
def test_a_take_of_a_tune_with_an_upbeat_is_judged_again_as_it_was(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, written: Written, repeats: int
) -> None:
    """Its last bar gives back what the upbeat took, also between two times through."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))
    opening = attributes(2, "4/4") + sounded('tempo="60"')
    bars = (
        opening + note("C5", 2),
        "".join(note("C5", each) for each in (2, 1, 1, 2, 2)),
        "".join(note("C5", 2) for _ in range(3)),
    )
    tune = tmp_path / "weir.musicxml"
    tune.write_bytes(score(part_of(*bars, numbers=("0", "1", "2"))))
    # One bar is counted between two times through, with the beat that is left and the upbeat.
    times = [1 + 12 * run + at for run in range(repeats) for at in SECONDS]
    wish = CheckWish(str(tune), speed=1.0, repeats=repeats)
    checked = check(written(times), wish)
    assert checked.findings.tally.missed == 0
    number = keep_checked(checked, wish, now=datetime.now(UTC), say=lambda _: None)
    with open_history() as history:
        kept = history.take(number)
    assert kept is not None
    assert record_of_line(line_of(kept.record)) == kept.record
    assert json.dumps(document(judged_again(kept))) == json.dumps(document(checked))
