"""Running the command line in this process, as a person would type it."""

from collections.abc import Callable
from pathlib import Path

import pytest

from rhythmtrain.cli.main import run

Typed = Callable[..., tuple[int, str, str]]

RAG = '''title = "Kitchen rag"
about = "Off-beats, a tie over the beat, and an entry after four bars."
metre = "2/4"
tempo = 72
rhythm = """
1 e [&] a 2 & | (1) & a 2 | 1 & [2] & | 1 (2) | rest 4 | (1) (&) 2 & | 1 2 | 1 (2)
"""
'''


@pytest.fixture
def typed(
    capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> Typed:
    """Return a function that runs ``rhythmtrain …`` in an empty folder: (code, out, err)."""
    monkeypatch.chdir(tmp_path)

    def type_it(*words: object) -> tuple[int, str, str]:
        code = run([str(word) for word in words])
        said = capsys.readouterr()
        return code, said.out, said.err

    return type_it


@pytest.fixture
def rag(tmp_path: Path) -> Path:
    """Return a drill file of an invented rag, eleven bars in 2/4."""
    path = tmp_path / "rag.toml"
    path.write_text(RAG, encoding="utf-8")
    return path
