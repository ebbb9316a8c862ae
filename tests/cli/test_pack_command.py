"""``rhythmtrain pack`` as it is typed: what stands on stdout, on stderr, and the exit code."""

import json
from pathlib import Path

from tests.cli.conftest import Typed

FILES = ["01-listen-72.ogg", "02-echo-72.ogg", "03-with-help-72.ogg", "04-alone-72.ogg"]


def test_a_pack_with_one_failure_is_made_and_ends_with_code_1(typed: Typed, rag: Path) -> None:
    """A script that packs for a class hears of the one that failed, and keeps the others."""
    options = ("--rungs", 1, "--format", "ogg", "--into", "out", "--json")
    code, out, err = typed("pack", rag, "no-such-drill", *options)
    document = json.loads(out)
    assert code == 1
    assert err.startswith("rhythmtrain: 1 of 2 could not be made: there is no file and no supplied")
    assert document["passages"] == [
        {
            "name": "rag",
            "title": "Kitchen rag",
            "folder": str(Path("out", "rag")),
            "tempi": [72.0],
            "files": [*FILES, "midi-72.mid"],
        }
    ]
    assert [each["passage"] for each in document["failed"]] == ["no-such-drill"]


def test_one_passage_that_is_not_there_is_one_line_and_nothing_else(
    typed: Typed, tmp_path: Path
) -> None:
    """A slip of the pen costs one line, and leaves no folder behind."""
    code, out, err = typed("pack", "no-such-drill", "--into", "out")
    assert (code, out) == (2, "")
    assert err.count("\n") == 1
    assert not (tmp_path / "out").exists()
