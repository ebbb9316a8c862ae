"""What is given to be read is there afterwards, whatever is typed after -o."""

from pathlib import Path

import numpy as np
import pytest
import soundfile

from tests.cli.conftest import Typed


@pytest.fixture
def piano(tmp_path: Path) -> Path:
    """Return a recording that cannot be made again."""
    path = tmp_path / "piano.wav"
    soundfile.write(path, 0.1 * np.random.default_rng(3).standard_normal(8000), 8000)
    return path


@pytest.mark.usefixtures("piano", "rag")
@pytest.mark.parametrize(
    "words",
    [
        ("map", "piano.wav", "--at", "1=0.2", "--at", "2=0.8", "-o", "piano.wav"),
        ("map", "piano.wav", "--at", "1=0.2", "--at", "2=0.8", "--listen", "../{folder}/piano.wav"),
        ("track", "rag.toml", "--accompaniment", "piano.wav", "-o", "piano.wav"),
        ("transcribe", "piano.wav", "-o", "piano.wav"),
        ("show", "rag.toml", "-o", "rag.toml"),
        ("check", "piano.wav", "rag.toml", "--report", "piano.wav"),
    ],
)
def test_nothing_is_written_over_what_was_given(
    typed: Typed, tmp_path: Path, words: tuple[str, ...]
) -> None:
    """One slip of the hand does not cost the only recording of the accompanist."""
    before = {path: path.read_bytes() for path in tmp_path.iterdir()}
    code, out, err = typed(*(word.format(folder=tmp_path.name) for word in words))
    assert (code, out) == (2, "")
    assert "would be lost: write to a file of another name" in err
    assert {path: path.read_bytes() for path in tmp_path.iterdir()} == before


def test_a_map_may_go_where_it_was(typed: Typed, tmp_path: Path, piano: Path) -> None:
    """Mapping again is how a map gets better; that map is not what would be lost."""
    (tmp_path / "piano.beats").write_text("# no map\n", encoding="utf-8")
    _, _, err = typed("map", piano.name, "--again", "piano.beats", "-o", "piano.beats")
    assert "piano.beats" in err
    assert "would be lost" not in err
