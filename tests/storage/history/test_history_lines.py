"""The history travels as JSON lines: every take, and nothing that is none."""

import json
from pathlib import Path
from typing import Any

import pytest

from rhythmtrain.errors import TakeError
from rhythmtrain.storage.history.history import Imported, open_history
from rhythmtrain.storage.history.lines import line_of, record_of_line
from rhythmtrain.storage.history.take_record import Conditions
from rhythmtrain.timing.playing_order import Practice
from tests.simulate.kept_takes import kept_take

MISSING = object()


def test_a_history_moves_to_another_machine_whole(tmp_path: Path) -> None:
    """A new computer: takes, days and entries are what they were."""
    with open_history(tmp_path / "old") as old, open_history(tmp_path / "new") as new:
        for number in range(20):
            old.keep(kept_take(number, passage="ab"[number % 2]))
        assert new.import_lines(old.export_lines()) == Imported(20, 0, ())
        assert [take.record for take in new.takes()] == [take.record for take in old.takes()]
        assert new.bar_days("a") == old.bar_days("a")
        assert new.entry_days("b") == old.entry_days("b")
        assert new.passages() == old.passages()


def test_takes_that_are_there_already_are_not_doubled(tmp_path: Path) -> None:
    """Importing twice, or two exports that overlap."""
    lines = [line_of(kept_take(number)) for number in range(4)]
    with open_history(tmp_path) as history:
        assert history.import_lines(lines[:3]) == Imported(3, 0, ())
        assert history.import_lines([*lines, lines[3]]) == Imported(1, 4, ())
        assert len(history.summaries()) == 4


def test_a_judgement_of_ones_own_is_not_replaced_by_an_older_one(tmp_path: Path) -> None:
    """Export, judge again, import the old export: the newer judgement stays."""
    with open_history(tmp_path) as history:
        history.import_lines([line_of(kept_take())])
        history.keep(kept_take(document={"advice": ["newer"]}))
        assert history.import_lines([line_of(kept_take())]) == Imported(0, 1, ())
        assert next(history.takes()).record.document == {"advice": ["newer"]}


def test_a_line_that_is_no_take_is_named_and_stops_no_other(tmp_path: Path) -> None:
    """A file that was cut short: everything before the cut is kept."""
    good = line_of(kept_take())
    with open_history(tmp_path) as history:
        told = history.import_lines(["", good, "  \n", good[:100]])
        assert told == Imported(1, 0, ("line 4 was not kept: it is not JSON",))


def test_more_lines_than_are_written_at_once(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Years of practice; one that is deleted meanwhile does not stop the others."""
    monkeypatch.setattr("rhythmtrain.storage.history.history.LINES_AT_ONCE", 10)
    with open_history(tmp_path) as history:
        lines = (line_of(kept_take(number)) for number in range(23))
        assert history.import_lines(lines) == Imported(23, 0, ())
        exported = history.export_lines()
        assert record_of_line(next(exported)) == kept_take(0)
        assert history.delete(23)
        assert len(list(exported)) == 21


def test_a_line_says_all_that_a_take_is() -> None:
    """Also what is seldom there."""
    conditions = Conditions(Practice(0.6, 2, 1, 2, 1), 1.5, False, False, True, 3, (17, 18))
    record = kept_take(bars="17-18", help="no help", conditions=conditions, hidden_s=(0.1, 2 / 3))
    assert record_of_line(line_of(record)) == record
    assert "\n" not in line_of(record)


def test_what_need_not_be_said_may_be_missing() -> None:
    """Another program writes only what it knows; a newer one writes more."""
    told = json.loads(line_of(kept_take()))
    for name in ("hidden", "drill", "bar_numbers", "conditions", "help", "document"):
        del told[name]
    told["mood"] = "sunny"
    record = record_of_line(json.dumps(told))
    assert (record.drill, record.document, record.conditions) == ("", {}, Conditions())
    assert record.hidden_s == ()


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"rhythmtrain_take": MISSING}, "it is no take"),
        ({"rhythmtrain_take": 2}, "newer rhythmtrain: update"),
        ({"onsets": MISSING}, "onsets is missing"),
        ({"onsets": [[]]}, "wrong kind"),
        ({"onsets": [["x"]]}, "wrong kind"),
        ({"hidden": ["x"]}, "wrong kind"),
        ({"hidden": [10**309]}, "wrong kind"),
        ({"onsets": 3}, "wrong kind"),
        ({"onsets": [[2], [1]]}, "run backwards"),
        ({"speed": "fast"}, "wrong kind"),
        ({"speed": 10**400}, "wrong kind"),
        ({"speed": -1}, "speed must be more than 0"),
        ({"title": 3}, "title of a take must be text"),
        ({"title": "\ud800"}, "half a letter"),
        ({"played_at": "yesterday"}, "wrong kind"),
        ({"played_at": "2026-03-01T19:30:00"}, "time zone"),
        ({"document": [3]}, "wrong kind"),
        ({"conditions": 3}, "wrong kind"),
        ({"conditions": {"practice": {"repeats": 0}}}, "repeats must be 1"),
        ({"conditions": {}}, "practice is missing"),
        ({"conditions": {"practice": {}, "cut_short": [[1, "4/4", "1/0"]]}}, "wrong kind"),
        ({"conditions": {"practice": {}, "cut_short": [[1, "4/4"]]}}, "wrong kind"),
        ({"bar_numbers": ["x"]}, "wrong kind"),
    ],
)
def test_a_take_with_a_wrong_value_is_refused_and_says_which(
    change: dict[str, Any], words: str
) -> None:
    """One sentence a line, never a traceback."""
    told = json.loads(line_of(kept_take())) | change
    told = {name: value for name, value in told.items() if value is not MISSING}
    with pytest.raises(TakeError, match=words):
        record_of_line(json.dumps(told))


@pytest.mark.parametrize("line", ["[]", "3", "NaN", '{"rhythmtrain_take": NaN}', "[" * 100_000])
def test_what_is_no_object_is_refused(line: str) -> None:
    """Any line at all."""
    with pytest.raises(TakeError, match="it is no"):
        record_of_line(line)


def test_a_line_of_endless_length_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    """Somebody's film."""
    monkeypatch.setattr("rhythmtrain.storage.history.lines.LONGEST_LINE", 100)
    with pytest.raises(TakeError, match="too long for a take"):
        record_of_line(line_of(kept_take()))
