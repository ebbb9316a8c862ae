"""A damaged history is kept aside whole; what can be read goes on, and it is said."""

import random
import sqlite3
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from threading import Barrier

import pytest

from rhythmtrain.storage.history.history import FILE_NAME, open_history
from rhythmtrain.storage.history.table import connect
from rhythmtrain.storage.history.take_record import TakeRecord
from tests.simulate.kept_takes import kept_take

PAGE = 4096
TAKES = 40
RUBBISH = b"\x5a" * PAGE


@pytest.fixture
def file(tmp_path: Path) -> Path:
    """Return a history of forty takes, of which one was deleted."""
    with open_history(tmp_path) as history:
        for number in range(TAKES + 1):
            history.keep(kept_take(number))
        history.delete(TAKES + 1)
    return tmp_path / FILE_NAME


def overwritten(file: Path, *pages: int, rubbish: bytes = RUBBISH) -> bytes:
    """Write rubbish over pages of a file (from 0) and return the file's bytes."""
    damaged = bytearray(file.read_bytes())
    for page in pages:
        damaged[page * PAGE : page * PAGE + len(rubbish)] = rubbish
    file.write_bytes(damaged)
    return bytes(damaged)


def read(folder: Path) -> tuple[dict[int, TakeRecord], list[str]]:
    """Return every take that the history gives, and what is said."""
    said: list[str] = []
    with open_history(folder, say=said.append) as history:
        takes = {take.id: take.record for take in history.takes()}
        for day in history.bar_days("kitchen-rag"):
            assert 1 <= day.takes <= TAKES
    return takes, said


def pages_of(file: Path, table: str) -> list[int]:
    """Return the pages (from 0) on which a table's rows, or its index, lie."""
    with closing(connect(file)) as connection:
        try:
            rows = connection.execute("SELECT pageno FROM dbstat WHERE name = ?", (table,))
            return [page - 1 for (page,) in rows]
        except sqlite3.OperationalError:
            pytest.skip("this SQLite does not tell where a table lies")


def test_a_lost_first_page_costs_no_take(file: Path) -> None:
    """The table of contents is the same in every new history, so it can be given back."""
    damaged = overwritten(file, 0)
    takes, said = read(file.parent)
    assert len(said) == 1
    assert said[0].endswith(
        "was damaged: 40 takes could be read and carried into a new one, and the damaged file is "
        "kept as history-damaged-1.sqlite"
    )
    assert takes == {number + 1: kept_take(number) for number in range(TAKES)}
    assert (file.parent / "history-damaged-1.sqlite").read_bytes() == damaged
    assert read(file.parent) == (takes, [])


def test_what_lies_on_a_lost_page_is_lost_and_nothing_else(file: Path) -> None:
    """A few takes with rubbish over them; their numbers stay free, the others keep theirs."""
    leaf = pages_of(file, "takes")[-1]
    overwritten(file, leaf)
    takes, said = read(file.parent)
    assert len(said) == 1
    lost = TAKES - len(takes)
    assert 0 < lost < 20
    assert all(takes[number] == kept_take(number - 1) for number in takes)


def test_a_lost_index_costs_no_take(file: Path) -> None:
    """What finds takes by their time can be made again."""
    overwritten(file, *pages_of(file, "takes_by_time"))
    takes, said = read(file.parent)
    assert len(said) == 1
    assert takes == {number + 1: kept_take(number) for number in range(TAKES)}


def test_a_lost_document_leaves_the_onsets(file: Path) -> None:
    """A take without its judgement can be judged again."""
    with closing(connect(file)) as connection:
        connection.execute("UPDATE played SET document = x'00' WHERE take = 7")
        connection.execute("UPDATE rhythms SET drill = cast(x'ff' AS TEXT)")
    takes, said = read(file.parent)
    assert len(said) == 1
    assert sorted(takes) == list(range(1, TAKES + 1))
    assert takes[7].onsets == kept_take(6).onsets
    assert takes[7].document == {}
    assert takes[8].document == kept_take(7).document


def test_hidden_times_that_are_none_leave_the_onsets(file: Path) -> None:
    """What was played is dearer than what may have gone unheard."""
    with closing(connect(file)) as connection:
        connection.execute("UPDATE played SET hidden = '[0.5, x' WHERE take = 2")
    takes, said = read(file.parent)
    assert said
    assert len(takes) == TAKES
    assert len(takes[2].onsets) == len(takes[1].onsets)
    assert takes[2].hidden_s == ()


def test_a_file_cut_short_gives_what_is_left(file: Path) -> None:
    """A copy that was broken off."""
    whole = file.read_bytes()
    file.write_bytes(whole[: len(whole) * 2 // 3])
    takes, said = read(file.parent)
    assert len(said) == 1
    assert all(takes[number] == kept_take(number - 1) for number in takes)
    assert takes


@pytest.mark.parametrize("rubbish", [b"not a database at all\n" * 500, b"SQLite format 3\0" * 9])
def test_a_file_of_rubbish_begins_a_new_history(tmp_path: Path, rubbish: bytes) -> None:
    """The next take is kept; the rubbish is not thrown away."""
    (tmp_path / FILE_NAME).write_bytes(rubbish)
    said: list[str] = []
    with open_history(tmp_path, say=said.append) as history:
        assert history.keep(kept_take()) == 1
    assert "no take could be read" in said[0]
    assert (tmp_path / "history-damaged-1.sqlite").read_bytes() == rubbish


def test_a_second_damage_is_kept_aside_under_another_name(file: Path) -> None:
    """The first is not replaced."""
    for number in (1, 2):
        damaged = overwritten(file, 0)
        takes, _ = read(file.parent)
        assert len(takes) == TAKES
        assert (file.parent / f"history-damaged-{number}.sqlite").read_bytes() == damaged
    names = sorted(path.name for path in file.parent.iterdir())
    assert names == ["history-damaged-1.sqlite", "history-damaged-2.sqlite", FILE_NAME]


def test_damage_met_while_a_take_is_kept_does_not_cost_the_take(file: Path) -> None:
    """What was just played is the last thing to lose; it is kept in the mended history."""
    pages = pages_of(file, "takes") + pages_of(file, "takes_by_passage")
    said: list[str] = []
    with open_history(file.parent, say=said.append) as history:
        overwritten(file, *pages[1:])
        number = history.keep(kept_take(100))
        kept = history.take(number)
    assert kept is not None
    assert kept.record == kept_take(100)
    assert len(said) == 1


def test_what_stood_only_in_the_log_of_writes_is_carried_over(file: Path, tmp_path: Path) -> None:
    """The last takes before a crash are in the log, not yet in the file."""
    crashed = tmp_path / "crashed"
    crashed.mkdir()
    with open_history(file.parent) as history:
        number = history.keep(kept_take(100))
        for name in (FILE_NAME, f"{FILE_NAME}-wal"):
            (crashed / name).write_bytes((file.parent / name).read_bytes())
    overwritten(crashed / FILE_NAME, pages_of(file, "takes")[1])
    takes, said = read(crashed)
    assert len(said) == 1
    assert takes[number] == kept_take(100)
    assert TAKES // 2 < len(takes) <= TAKES


def test_an_onset_that_is_not_what_it_was_is_noticed(file: Path) -> None:
    """A disk that forgets single bits must not make a player late."""
    with closing(connect(file)) as connection:
        onsets = connection.execute("SELECT onsets FROM played WHERE take = 5").fetchone()[0]
        wrong = onsets.replace("1", "2", 1)
        connection.execute("UPDATE played SET onsets = ? WHERE take = 5", (wrong,))
    takes, said = read(file.parent)
    assert len(said) == 1
    assert sorted(takes) == [number for number in range(1, TAKES + 1) if number != 5]


def test_numbers_that_lie_endlessly_far_apart_are_looked_up_as_they_are(file: Path) -> None:
    """A number that rubbish made does not keep the program busy for years."""
    with closing(connect(file)) as connection:
        connection.execute("PRAGMA foreign_keys = OFF")
        connection.execute("INSERT INTO played VALUES (?, '[]', x'00', '[]')", (2**60,))
        connection.execute("UPDATE takes SET conditions = '{' WHERE id = 3")
    takes, said = read(file.parent)
    assert len(said) == 1
    assert len(takes) == TAKES - 1


def test_a_process_that_has_the_old_file_open_goes_on_in_the_new_one(file: Path) -> None:
    """Two windows: one mends, the other keeps its take where it will be found."""
    with open_history(file.parent) as other:
        assert len(other.summaries()) == TAKES
        overwritten(file, 0)
        takes, said = read(file.parent)
        assert len(said) == 1
        number = other.keep(kept_take(200))
    assert number not in takes
    assert read(file.parent)[0][number] == kept_take(200)


@pytest.mark.parametrize("seed", range(20))
def test_no_damage_gives_a_traceback_or_a_wrong_take(file: Path, seed: int) -> None:
    """Rubbish anywhere: what is given back is right, and the next take is kept."""
    chance = random.Random(seed)  # noqa: S311
    damaged = bytearray(file.read_bytes())
    for _ in range(chance.randint(1, 6)):
        at = chance.randrange(len(damaged))
        length = chance.choice([1, 16, 700, 5000])
        damaged[at : at + length] = chance.randbytes(length)
    file.write_bytes(damaged)
    takes, _ = read(file.parent)
    with open_history(file.parent) as history:
        number = history.keep(kept_take(300))
        kept = history.take(number)
    assert kept is not None
    assert kept.record == kept_take(300)
    for number, take in takes.items():
        meant = kept_take(number - 1)
        assert (take.played_at, take.onsets) == (meant.played_at, meant.onsets)


def test_who_meets_the_damage_together_has_it_mended_once(file: Path) -> None:
    """The page asks for days and takes at once: one mends, the others read what was mended."""
    overwritten(file, 0)
    gate = Barrier(4)

    def meet(folder: Path) -> tuple[dict[int, TakeRecord], list[str]]:
        gate.wait()
        return read(folder)

    with ThreadPoolExecutor(4) as readers:
        met = list(readers.map(meet, [file.parent] * 4))
    assert [len(takes) for takes, _ in met] == [TAKES] * 4
    assert len([sentence for _, said in met for sentence in said]) == 1
    assert [path.name for path in file.parent.glob("*damaged*")] == ["history-damaged-1.sqlite"]
