"""``rhythmtrain class`` as it is typed."""

import json
from pathlib import Path

from tests.cli.conftest import RAG, Typed


def test_a_class_is_heard_as_it_is_typed(typed: Typed, tmp_path: Path) -> None:
    """Options come before the file of the class, and its passage is found."""
    room = tmp_path / "tuesday"
    room.mkdir()
    (room / "rag.toml").write_text(RAG, encoding="utf-8")
    said = 'passage = "rag.toml"\nspeed = 0.5\n'
    (room / "class.toml").write_text(said, encoding="utf-8")
    (room / "Anna.txt").write_text("1\n2\nx\n", encoding="utf-8")
    code, out, err = typed("class", "tuesday", "--speed", "99", "--json")
    assert code == 1
    assert "speed must be" in json.loads(out)["not_heard"][0]["why"]
    code, out, err = typed("class", "tuesday")
    assert code == 1
    assert "Anna.txt, line 3" in out
    assert "no recording could be heard" in err
