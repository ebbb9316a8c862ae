"""Which files belong to a passage, so that no command writes over one of them.

A slip of the hand after ``-o`` costs the only recording of the accompanist.  What is typed to be
read is known to whoever takes the command; what a drill speaks of (its score, its recordings, their
beat maps, the accompanist's notes) is found here, whether or not the command wants it this time;
the history and the settings of the user are nobody's goal either.
Two names are one file where the system says so: a link of either kind, another way to the folder.
"""

from collections.abc import Iterable, Iterator
from pathlib import Path

from rhythmtrain.errors import FileError, RequestError, RhythmtrainError
from rhythmtrain.storage import settings_file
from rhythmtrain.storage.drills import beside, drill_path, load_drill, passages_at
from rhythmtrain.storage.history import history
from rhythmtrain.storage.places import user_folder
from rhythmtrain.storage.scores import is_score
from rhythmtrain.storage.word_files import recordings

# What the program keeps for the user; the history has files of the same name and more beside it.
KEPT = (f"{history.FILE_NAME}*", settings_file.FILE_NAME)


def check_spared(
    goals: Iterable[Path],
    *,
    read: Iterable[Path] = (),
    passages: Iterable[str] = (),
    voice: Path | None = None,
) -> None:
    """Refuse to write ``goals`` where one of them is a file that is to be read.

    ``read`` are files that were named, ``passages`` what was typed as PASSAGE, ``voice`` a folder of
    recorded words.

    Raises:
        RequestError: a file would be lost.
    """
    there = [goal for goal in goals if _is_there(goal)]
    if not there:
        return
    for given in read:
        _spare(there, given, "is to be read")
    for name in passages:
        for path in files_of(name):
            _spare(there, path, f"belongs to {name}" if str(path) != name else "is to be read")
    for word in _words(voice):
        _spare(there, word, "stands among your recorded words")
    for kept in (path for name in KEPT for path in user_folder().glob(name)):
        _spare(there, kept, "is where rhythmtrain keeps your takes or settings")


def files_of(name: str) -> Iterator[Path]:
    """Yield the files of the passage called ``name``, or of all in a folder of that name.

    What is not there or does not read is passed over: whoever wants it says so.
    """
    for path in _passages(name):
        yield path
        if not is_score(path.name):
            yield from _spoken_of(path)


def _passages(name: str) -> tuple[Path, ...]:
    try:
        return passages_at(name)
    except RhythmtrainError:
        return (Path(name),)


def _spoken_of(drill: Path) -> Iterator[Path]:
    """Yield the files that the drill file ``drill`` names and that are there."""
    try:
        said = load_drill(str(drill))
    except RhythmtrainError:
        return
    names: list[str | None] = [said.score.score] if said.score is not None else []
    if said.accompaniment is not None:
        names += [said.accompaniment.recording, said.accompaniment.beats, said.accompaniment.notes]
    if said.model is not None:
        names += [said.model.recording, said.model.beats]
    for name in names:
        if name is not None:
            try:
                yield beside(drill_path(str(drill)), name)
            except FileError:
                continue


def _words(voice: Path | None) -> Iterable[Path]:
    try:
        return recordings(voice).values() if voice is not None else ()
    except FileError:
        return ()


def _spare(goals: Iterable[Path], path: Path, why: str) -> None:
    if any(_is_there(path) and goal.samefile(path) for goal in goals):
        raise RequestError(f"{path} {why} and would be lost: write to a file of another name")


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):
        return False
