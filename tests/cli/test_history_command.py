"""``rhythmtrain history`` as it is typed."""

import json
from io import StringIO
from pathlib import Path

import pytest

from rhythmtrain.storage.history.history import open_history
from tests.cli.conftest import Typed
from tests.simulate.kept_takes import kept_take


@pytest.fixture(autouse=True)
def kept(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Keep two takes in a folder of their own."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))
    with open_history() as history:
        for number in range(2):
            history.keep(kept_take(number))


def test_takes_are_listed_and_a_document_is_printed(typed: Typed) -> None:
    """For people and for programs."""
    code, out, _ = typed("history")
    assert code == 0
    assert "Kitchen Rag" in out
    code, out, _ = typed("history", "--json")
    assert [take["id"] for take in json.loads(out)["takes"]] == [2, 1]


def test_a_take_is_not_deleted_without_a_yes(typed: Typed, monkeypatch: pytest.MonkeyPatch) -> None:
    """Where nobody answers nothing is lost."""
    monkeypatch.setattr("sys.stdin", StringIO())
    code, _, err = typed("history", "delete", 1)
    assert code == 130
    assert "Kitchen Rag" in err
    assert typed("history", "delete", 1, "--yes")[0] == 0
    assert typed("history", "show", 1)[0] == 2


def test_takes_travel_in_a_file_and_are_judged_again(typed: Typed) -> None:
    """Export, import, again: each with its document."""
    code, out, _ = typed("history", "export", "takes.jsonl", "--json")
    assert (code, json.loads(out)["takes"]) == (0, 2)
    code, out, _ = typed("history", "import", "takes.jsonl", "--json")
    assert (code, json.loads(out)["already"]) == (0, 2)
    code, out, _ = typed("history", "again", "--all", "--json")
    assert code == 0
    assert len(json.loads(out)["takes"]) == 2
    assert typed("history", "show", 1, "--json")[0] == 0
