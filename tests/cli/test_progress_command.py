"""``rhythmtrain progress`` as it is typed."""

import json
from pathlib import Path

import pytest

from rhythmtrain.storage.history.history import open_history
from tests.cli.conftest import Typed
from tests.simulate.kept_takes import kept_take


def test_progress_is_told_and_drawn(
    typed: Typed, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Before the first take, and after."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))
    code, out, _ = typed("progress")
    assert code == 0
    assert "rhythmtrain clap" in out
    with open_history() as history:
        history.keep(kept_take())
    code, out, _ = typed("progress", "kitchen-rag", "--json", "--plot", "rag.png")
    assert code == 0
    assert json.loads(out)["passages"][0]["title"] == "Kitchen Rag"
    assert (tmp_path / "rag.png").exists()
    code, _, err = typed("progress", "--plot", "rag.png")
    assert code == 2
    assert "which passage" in err
