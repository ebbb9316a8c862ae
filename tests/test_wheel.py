"""The wheel: built, installed elsewhere, and the demo run from an empty folder."""

import json
import os
import subprocess
import sys
import sysconfig
import venv
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


def _run(*words: object, cwd: Path) -> str:
    clean = {name: value for name, value in os.environ.items() if name != "PYTHONPATH"}
    done = subprocess.run(
        [str(word) for word in words],
        cwd=cwd,
        capture_output=True,
        text=True,
        check=False,
        env=clean,
    )
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    return done.stdout


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return the ``rhythmtrain`` command of a fresh environment that holds only the wheel.

    The libraries are lent by the environment that runs the tests, so nothing is fetched twice.
    """
    folder = tmp_path_factory.mktemp("wheel")
    _run(sys.executable, "-m", "pip", "wheel", "-q", "--no-deps", "-w", folder, ROOT, cwd=folder)
    home = folder / "home"
    venv.create(home, with_pip=False, symlinks=True)
    python = home / "bin" / "python"
    site = Path(
        _run(
            python, "-c", "import sysconfig; print(sysconfig.get_path('purelib'))", cwd=folder
        ).strip()
    )
    wheel = next(folder.glob("rhythmtrain-*.whl"))
    _run(
        sys.executable,
        "-m",
        "pip",
        "install",
        "-q",
        "--no-deps",
        "--no-index",
        "--target",
        site,
        wheel,
        cwd=folder,
    )
    (site / "lent.pth").write_text(sysconfig.get_path("purelib") + "\n", encoding="utf-8")
    return python


def test_the_installed_demo_does_the_whole_job_from_an_empty_folder(
    installed: Path, tmp_path: Path
) -> None:
    """What a musician gets after the first command of the README."""
    where = _run(installed, "-c", "import rhythmtrain; print(rhythmtrain.__file__)", cwd=tmp_path)
    assert str(ROOT) not in where
    told = json.loads(_run(installed, "-m", "rhythmtrain", "demo", "--json", cwd=tmp_path))
    written = sorted(path.suffix for path in (tmp_path / "rhythmtrain-demo").iterdir())
    assert written == [".flac", ".flac", ".html", ".mid", *[".mp3"] * 4]
    clapping, playing = told["checks"]
    assert clapping["looks_like_the_passage"] is True
    assert {7, 8} <= {note["bar"] for note in clapping["notes"] if note["plain"]}
    assert playing["timing"] == "recording"
    assert playing["entries"][1]["verdict"] == "one beat early"


def test_the_wheel_carries_drills_and_voices(installed: Path, tmp_path: Path) -> None:
    """Nothing of what is supplied stays behind in the repository."""
    listed = json.loads(_run(installed, "-m", "rhythmtrain", "drills", "--json", cwd=tmp_path))
    assert len(listed["drills"]) >= 24
    _run(
        installed,
        "-m",
        "rhythmtrain",
        "track",
        "off-beats",
        "-o",
        "a.flac",
        "--language",
        "de",
        cwd=tmp_path,
    )
    assert (tmp_path / "a.flac").stat().st_size > 10_000
