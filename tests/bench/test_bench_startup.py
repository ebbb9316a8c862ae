"""How long the command line takes to start, beside the library it is made with, in one run."""

import shutil
import subprocess
import sys

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

COMMAND = shutil.which("rhythmtrain") or "rhythmtrain"
STARTS = {
    "python -c pass": [sys.executable, "-c", "pass"],
    "import click": [sys.executable, "-c", "import click"],
    "rhythmtrain --help": [sys.executable, COMMAND, "--help"],
    "rhythmtrain show": [sys.executable, COMMAND, "show", "off-beats"],
}


@pytest.mark.bench
@pytest.mark.parametrize("name", STARTS)
def test_starting(benchmark: BenchmarkFixture, name: str) -> None:
    """A tired player should not wait for help."""
    benchmark.group = "start-up"
    benchmark.pedantic(  # type: ignore[no-untyped-call]
        lambda: subprocess.run(STARTS[name], check=True, capture_output=True),
        rounds=30,
        warmup_rounds=1,
    )
