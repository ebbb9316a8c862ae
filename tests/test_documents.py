"""What README and DEVELOPERS say is what the program does."""

import re
from pathlib import Path

import pytest

from rhythmtrain.cli.main import commands, run
from rhythmtrain.storage.drills import shipped_drills
from tests.test_architecture import GROUND, LIBRARIES, STOREYS

ROOT = Path(__file__).parent.parent
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BUILT = {path.name.removesuffix(".py") for path in (ROOT / "rhythmtrain").iterdir()}


def _rows(text: str) -> list[list[str]]:
    return [
        [cell.strip() for cell in line.strip("|").split(" |")]
        for line in text.splitlines()
        if line.startswith("| ")
    ]


def _names(cell: str) -> set[str]:
    return set() if cell == "\u2013" else {name.strip() for name in cell.split(",")}


def test_the_table_of_storeys_is_the_one_that_is_kept() -> None:
    """A contributor may trust the plan on paper."""
    table = {row[0]: row for row in _rows(DEVELOPERS) if row[0] in STOREYS and len(row) == 4}
    assert set(table) == set(STOREYS) & BUILT
    for name, (_, _, imports, libraries) in table.items():
        if imports != "all above":
            assert _names(imports) == (STOREYS[name] - GROUND) & BUILT, name
        assert _names(libraries) <= LIBRARIES.get(name, set()), name


def test_every_command_has_its_row_an_example_and_help(
    capsys: pytest.CaptureFixture[str],
) -> None:
    """Nothing has to be guessed."""
    for name in commands.commands:
        assert f"| `rhythmtrain {name}" in README
        assert run([name, "--help"]) == 0
        said = capsys.readouterr().out
        assert f"Example:  rhythmtrain {name}" in said


def test_the_readme_begins_with_the_job_in_one_paragraph() -> None:
    """Title, one paragraph, then the two commands."""
    title, paragraph, heading = README.split("\n\n")[:3]
    assert title == "# rhythmtrain"
    assert len(paragraph.split()) > 60
    assert heading == "## Two commands"


def test_the_drills_named_in_the_readme_are_supplied() -> None:
    """What is typed from the page works."""
    names = {drill.name.split("-", 1)[1] for drill in shipped_drills()}
    typed = set(re.findall(r"rhythmtrain (?:show|track|check \S+) ([a-z-]+)", README))
    assert typed
    assert typed <= names


def test_the_rhythm_written_in_the_readme_reads(tmp_path: Path) -> None:
    """The first thing that a teacher copies."""
    block = re.search(r"    title = .*?\n    \"\"\"\n", README, re.DOTALL)
    assert block is not None
    path = tmp_path / "copied.toml"
    path.write_text(re.sub(r"^    ", "", block[0], flags=re.MULTILINE), encoding="utf-8")
    assert run(["show", str(path)]) == 0


def test_links_and_pictures_of_the_documents_exist() -> None:
    """No dead end."""
    for text in (README, DEVELOPERS):
        for target in re.findall(r"\]\(([^)]+)\)", text):
            assert (ROOT / target).exists(), target
