"""The demo: the whole job once, on the supplied passages and takes, with no hardware.

An adult clarinettist learns an invented rag.  She gets practice tracks of the second strain at
three speeds, claps along with one of them, and is told what was heard.  Another rag has a recorded
piano, whose tempo breathes: she gets it slowed, with its rests counted, plays with it, and is told
how she came in beside the pianist.
"""

import shutil
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from rhythmtrain.errors import FileError
from rhythmtrain.rehearsal.checking.check import CheckWish, check
from rhythmtrain.rehearsal.checking.checked import Checked, document
from rhythmtrain.rehearsal.checking.report_page import write_page
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.rehearsal.tracks.track import TrackWish, make_track
from rhythmtrain.remedies import remedy
from rhythmtrain.report.demo_text import demo_text
from rhythmtrain.storage.places import samples_folder
from rhythmtrain.storage.safely import told_plainly

RAG, WITH_PIANO = "towpath-rag", "sluice-gate-rag"
TEMPI = (36, 54, 72)
PIANO = TrackWish(WITH_PIANO, speed=0.75, layers="accompaniment,click,count")
CLAPPING = ("clapping.flac", CheckWish(RAG, tempo=54, repeats=2))
PLAYING = ("playing.flac", CheckWish(WITH_PIANO, speed=1.0, timing="recording", kind="wind"))
REPORT = "report.html"


@dataclass(frozen=True, slots=True)
class _Step:
    """One thing that the demo does, and what the progress bar calls it."""

    what: str
    do: Callable[[], None]


def run_demo(into: Path, *, progress: Progress = quietly) -> Told:
    """Write the demo's tracks, takes and report into the folder ``into`` and tell what was heard.

    Raises:
        FileError: the folder cannot be made or written to.
    """
    folder = _made(into)
    files: list[Path] = []
    checked: list[tuple[Checked, Path]] = []
    steps = list(_steps(folder, files, checked))
    for number, step in enumerate(steps):
        progress(number, len(steps), step.what)
        step.do()
    progress(len(steps), len(steps), "done")
    tracks = [file.name for file in files if file.suffix in (".mp3", ".mid")]
    text = demo_text(
        [(each.heard, each.said, path.name) for each, path in checked], str(into), tracks
    )
    told = {
        "folder": str(folder),
        "files": [str(file) for file in files],
        "checks": [document(each) for each, _ in checked],
    }
    return Told(text, told, tuple(files))


def _steps(folder: Path, files: list[Path], checked: list[tuple[Checked, Path]]) -> Iterator[_Step]:
    for tempo in TEMPI:
        yield _Step(f"track at {tempo}", partial(_track, folder, tempo, files))
    yield _Step("track over the recorded piano", partial(_over_the_piano, folder, files))
    yield _Step("MIDI", partial(_midi, folder, files))
    for name, wish in (CLAPPING, PLAYING):
        yield _Step("listening", partial(_hear, folder, name, wish, checked))
    yield _Step("report", partial(_report, folder, files, checked))


def _track(folder: Path, tempo: int, files: list[Path]) -> None:
    output = folder / f"{RAG}-{tempo}.mp3"
    make_track(TrackWish(RAG, tempo=tempo, repeats=2), output)
    files.append(output)


def _over_the_piano(folder: Path, files: list[Path]) -> None:
    output = folder / f"{WITH_PIANO}-slowed.mp3"
    make_track(PIANO, output)
    files.append(output)


def _midi(folder: Path, files: list[Path]) -> None:
    output = folder / f"{RAG}.mid"
    make_track(TrackWish(RAG, layers="tune,click,count"), output)
    files.append(output)


def _hear(folder: Path, name: str, wish: CheckWish, checked: list[tuple[Checked, Path]]) -> None:
    take = folder / name
    with told_plainly(take):
        shutil.copyfile(samples_folder() / "takes" / name, take)
    checked.append((check(take, wish), take))


def _report(folder: Path, files: list[Path], checked: list[tuple[Checked, Path]]) -> None:
    output = folder / REPORT
    write_page(checked, output, title="Two rags: clapped, then played with the piano")
    files += [*(take for _, take in checked), output]


def _made(into: Path) -> Path:
    try:
        into.mkdir(parents=True, exist_ok=True)
    except FileExistsError as error:
        raise FileError(f"{into} is a file{remedy('name-a-folder')}") from error
    except OSError as error:
        raise FileError(f"the folder {into} cannot be made: {error.strerror}") from error
    return into
