"""What is given to be read is there afterwards, whatever is typed after -o and however."""

from collections.abc import Callable, Iterator
from pathlib import Path

import click
import pytest

from rhythmtrain.cli.careful import WRITTEN, Careful
from rhythmtrain.cli.main import commands
from rhythmtrain.cli.options import AnyFile
from tests.cli.conftest import Typed

DRILL = """
title = "Ferry Song"
metre = "2/4"
tempo = 60
rhythm = "rest 1 | 1 2 | 1 (2)"
[accompaniment]
recording = "piano.wav"
beats = "piano.beats"
notes = "piano.mid"
[model]
recording = "slow.wav"
beats = "slow.beats"
"""
SCORED = 'score = "piece.musicxml"\npart = "Clarinet"\n'
OF_THE_DRILL = ("mine.toml", "piano.wav", "piano.beats", "piano.mid", "slow.wav", "slow.beats")
OF_THE_SCORE = ("scored.toml", "piece.musicxml")
GIVEN = ("take.wav", "other.wav", "other.beats", "taps.txt", "own/one.wav")
BESIDE = ("--accompaniment", "other.wav", "--beats", "other.beats")
HEARD = ("other.wav", "other.beats")
KEPT = "home/history.sqlite"
# What is typed, the ending of what it writes, and every file that it is given to read.
ROWS: dict[str, tuple[str, str, tuple[str, ...]]] = {
    "track": ("track mine.toml -o", ".wav", OF_THE_DRILL),
    "track of a score": ("track scored.toml -o", ".flac", OF_THE_SCORE),
    "track of a file": ("track piece.musicxml -o", ".mid", ("piece.musicxml",)),
    "track beside": (
        "track mine.toml --voice own {BESIDE} -o",
        ".mp3",
        (*OF_THE_DRILL, *HEARD, "own/one.wav", KEPT),
    ),
    "cue": ("cue mine.toml -o", ".ogg", OF_THE_DRILL),
    "cue beside": (
        "cue scored.toml --notes piano.mid {BESIDE} -o",
        ".mid",
        (*OF_THE_SCORE, *HEARD, "piano.mid"),
    ),
    "map": (
        "map take.wav --taps taps.txt --notes piano.mid -o",
        ".beats",
        ("take.wav", "taps.txt", "piano.mid", KEPT),
    ),
    "map, to listen": (
        "map take.wav --taps taps.txt --again piano.beats --listen",
        ".wav",
        ("take.wav", "taps.txt", "piano.beats"),
    ),
    "map, drawn": (
        "map take.wav --again piano.beats -o new.beats --plot",
        ".png",
        ("take.wav", "piano.beats"),
    ),
    "sheet": (
        "sheet mine.toml scored.toml piece.musicxml -o",
        ".svg",
        (*OF_THE_DRILL, *OF_THE_SCORE),
    ),
    "sheet of a folder": ("sheet . -o", ".pdf", (*OF_THE_DRILL, *OF_THE_SCORE)),
    "show": ("show mine.toml -o", ".toml", OF_THE_DRILL),
    "show, drawn": ("show scored.toml --plot", ".png", OF_THE_SCORE),
    "transcribe": ("transcribe take.wav -o", ".toml", ("take.wav",)),
    "check": (
        "check take.wav mine.toml --notes piano.mid {BESIDE} --report",
        ".html",
        (*OF_THE_DRILL, *HEARD, "take.wav", KEPT),
    ),
    "clap": (
        "clap mine.toml --dry-run --voice own {BESIDE} --report",
        ".html",
        (*OF_THE_DRILL, *HEARD, "own/one.wav"),
    ),
    "progress": ("progress --report", ".html", (KEPT,)),
    "progress, drawn": ("progress mine.toml --plot", ".svg", (KEPT, *OF_THE_DRILL)),
    "history": ("history export", ".jsonl", (KEPT,)),
}


def itself(path: Path, _ending: str) -> Path:
    """Return the file by its own name."""
    return path


def another_way(path: Path, _ending: str) -> Path:
    """Return another way to the file, through the folder above its own."""
    return path.parent / ".." / path.parent.resolve().name / path.name


def symbolic(path: Path, ending: str) -> Path:
    """Return a symbolic link to the file, with an ending that the command writes."""
    link = path.with_name(f"goal{ending}")
    link.symlink_to(path.resolve())
    return link


def hard(path: Path, ending: str) -> Path:
    """Return a hard link to the file, with an ending that the command writes."""
    link = path.with_name(f"goal{ending}")
    link.hardlink_to(path)
    return link


def by_a_linked_folder(path: Path, _ending: str) -> Path:
    """Return the file in a folder that is a link to its own."""
    folder = Path("way")
    folder.symlink_to(path.parent.resolve(), target_is_directory=True)
    return folder / path.name


# Every command is tried with the name itself and with a link, two of them with the others too.
TRIED = [(row, spelt) for row in ROWS for spelt in (itself, symbolic)]
TRIED += [
    (row, spelt)
    for row in ("track beside", "map")
    for spelt in (another_way, hard, by_a_linked_folder)
]


@pytest.fixture
def desk(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Return a folder with two drills, all that they speak of, and what else may be given."""
    monkeypatch.setenv("RHYTHMTRAIN_HOME", str(tmp_path / "home"))
    (tmp_path / "mine.toml").write_text(DRILL, encoding="utf-8")
    (tmp_path / "scored.toml").write_text(SCORED, encoding="utf-8")
    for name in {*OF_THE_DRILL, *OF_THE_SCORE, *GIVEN, KEPT} - {"mine.toml", "scored.toml"}:
        path = tmp_path / name
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(f"nobody can make {name} again".encode())
    return tmp_path


def files(folder: Path) -> dict[str, bytes]:
    """Return what stands in a folder and the folders in it."""
    return {str(path): path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.mark.parametrize(("row", "spelt"), TRIED)
def test_nothing_is_written_over_what_was_given(
    typed: Typed, desk: Path, row: str, spelt: Callable[[Path, str], Path]
) -> None:
    """One slip of the hand does not cost the only recording of the accompanist."""
    words, ending, given = ROWS[row]
    typed_words = words.replace("{BESIDE}", " ".join(BESIDE)).split()
    for name in given:
        goal = spelt(Path(name), ending)
        before = files(desk)
        code, out, err = typed(*typed_words, goal)
        assert (code, out) == (2, ""), name
        assert "would be lost: write to a file of another name" in err
        assert err.count("\n") == 1
        assert files(desk) == before
        if str(goal) != name and spelt is not another_way:
            (goal.parent if spelt is by_a_linked_folder else goal).unlink()


def _all_commands(group: click.Group, path: str = "") -> Iterator[tuple[str, click.Command]]:
    for name, command in group.commands.items():
        yield f"{path}{name}", command
        if isinstance(command, click.Group):
            yield from _all_commands(command, f"{path}{name} ")


# Files and folders that commands are given to read; where whole folders are written to, whoever
# writes there looks after what is in them.
READ = {"recording", "take", "taps", "again", "notes", "accompaniment", "beats", "voice", "folder"}
FOLDERS = {"into"}
BY_HAND = {("history export", "file"), ("history import", "file")}


def test_every_option_that_names_a_file_is_known_to_be_read_or_written() -> None:
    """A new option that names a file has its side here and its row above, or this fails."""
    for name, command in _all_commands(commands):
        named = {str(each.name) for each in command.params if isinstance(each.type, AnyFile)}
        strange = named - READ - FOLDERS - {*WRITTEN}
        assert all((name, each) in BY_HAND for each in strange), (name, strange)
        if named & {*WRITTEN}:
            assert isinstance(command, Careful), name
            assert any(words.split()[0] == name for words, _, _ in ROWS.values()), name


@pytest.mark.usefixtures("desk")
@pytest.mark.parametrize(
    "words",
    [
        "map take.wav --at 1=0.2 --at 2=0.8 -o out.wav --listen ./out.wav",
        "show mine.toml -o out.toml --plot out.toml",
        "progress mine.toml --plot out.html --report out.html",
    ],
)
def test_two_files_want_two_names(typed: Typed, words: str) -> None:
    """The second would be written over the first, and nobody would be told."""
    code, out, err = typed(*words.split())
    assert (code, out) == (2, "")
    assert "give two names" in err
    assert not list(Path().glob("out.*"))


def test_a_map_may_go_where_it_was(typed: Typed, desk: Path) -> None:
    """Mapping again is how a map gets better; that map is not what would be lost."""
    (desk / "piano.beats").write_text("# no map\n", encoding="utf-8")
    _, _, err = typed("map", "take.wav", "--again", "piano.beats", "-o", "piano.beats")
    assert "piano.beats" in err
    assert "would be lost" not in err


def test_an_older_track_may_be_made_anew(typed: Typed, rag: Path) -> None:
    """What is not read may be written over, as every program does."""
    old = rag.with_name("old.mid")
    old.write_bytes(b"old")
    code, _, _ = typed("track", rag, "-o", old)
    assert code == 0
    assert old.read_bytes() != b"old"


def test_a_pack_is_never_brought_in_over_what_it_is_made_from(typed: Typed, rag: Path) -> None:
    """A file of an earlier pack, packed again into the same folder, would be its own end."""
    code, _, _ = typed("pack", rag, "--into", ".", "--rungs", 1, "--format", "ogg")
    assert code == 0
    made = rag.with_name("rag") / "midi-72.mid"
    packed = rag.with_name("midi-72") / "midi-72.mid"
    packed.parent.mkdir()
    packed.hardlink_to(made)
    before = files(rag.parent)
    code, out, err = typed("pack", packed, "--into", ".", "--rungs", 1, "--slowest", 1)
    assert (code, out) == (2, "")
    assert "midi-72.mid is to be read and would be lost" in err
    assert files(rag.parent) == before
