"""What a machine keeps: format, lint and types of the whole tree."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.parametrize(
    "command",
    [
        ["ruff", "format", "--check", "."],
        ["ruff", "check", "."],
        ["mypy"],
    ],
    ids=["format", "lint", "types"],
)
def test_the_tree_keeps_its_style(command: list[str]) -> None:
    """A reader finds one hand everywhere, and mypy --strict finds no slip."""
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout[-3000:] + done.stderr[-1000:]
