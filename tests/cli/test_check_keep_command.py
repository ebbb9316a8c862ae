"""``check --keep`` as a person types it."""

import json
from pathlib import Path

import pytest

from rhythmtrain.storage.history.history import open_history
from tests.cli.conftest import Typed


@pytest.fixture
def take(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a take of the rag's beats, beside a history of its own."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))
    path = tmp_path / "take.txt"
    beat_s = 60 / 72
    counts = [0, 0.25, 0.75, 1, 1.5, 2.5, 2.75, 3, 4, 4.5, 5.5, 6]
    path.write_text("".join(f"{2 + beat_s * count:.4f}\n" for count in counts), encoding="utf-8")
    return path


def test_a_take_is_kept_and_its_number_told(typed: Typed, rag: Path, take: Path) -> None:
    """In words at the end, and in the document."""
    words = ["check", take, rag, "--bars", "1-4", "--speed", "1", "--keep"]
    code, out, err = typed(*words)
    assert (code, err) == (0, "")
    assert out.rstrip().endswith("Kept in your history as take 1.")
    code, out, err = typed(*words, "--json")
    assert (code, err) == (0, "")
    assert json.loads(out)["kept_as"] == 1
    with open_history() as history:
        assert [each.bars for each in history.summaries()] == ["1-4"]


def test_a_history_that_cannot_be_written_is_one_line(
    typed: Typed, rag: Path, take: Path, tmp_path: Path
) -> None:
    """The answer is there all the same; a script sees that it was not kept."""
    (tmp_path / "home").write_bytes(b"")
    code, out, err = typed("check", take, rag, "--bars", "1-4", "--speed", "1", "--keep")
    assert code == 1
    assert "Kitchen rag" in out
    assert err.startswith("rhythmtrain: the take was heard but not kept: cannot write")
    assert err.count("\n") == 1
