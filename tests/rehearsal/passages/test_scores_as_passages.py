"""Scores given to the commands, alone or named by a drill."""

from pathlib import Path

import pytest

from rhythmtrain.cli.main import run
from rhythmtrain.errors import DrillError, FileError, RequestError
from rhythmtrain.rehearsal.passages.passages import Wish, find_passage, wished_passage
from rhythmtrain.rehearsal.passages.show import ShowWish, show_passage
from rhythmtrain.remedies import remedy
from rhythmtrain.score.passage import notes_of
from tests.simulate.musicxml_text import attributes, note, part_of, rest, score, sounded

TOLD_TODAY = 'write seen = "'


@pytest.fixture
def duet(tmp_path: Path) -> Path:
    """Return a score of a flute that comes in after two bars of piano."""
    flute = part_of(
        attributes(2) + sounded('tempo="72"') + rest(8),
        rest(8),
        rest(3) + note("A5", 1) + note("B5", 4),
        note("D5", 8),
    )
    piano = part_of(*(attributes(2) + note("C5", 4) + note("D5", 4),) * 3, note("C4", 8))
    path = tmp_path / "duet.musicxml"
    path.write_bytes(score(piano, flute, names=("Piano", "Flute")))
    return path


def drill(folder: Path, *lines: str) -> str:
    """Write a drill that names the score, and return its path."""
    path = folder / "duet.toml"
    path.write_text("\n".join(['score = "duet.musicxml"', *lines]), encoding="utf-8")
    return str(path)


def test_the_part_that_is_taken_is_said(duet: Path) -> None:
    """Nobody practises the piano's part by mistake."""
    said: list[str] = []
    passage = wished_passage(Wish(str(duet), "3-4"), said.append)
    assert said == [f"of 2 parts, part 2 is taken: Flute ({remedy('another-part')})"]
    assert [(each.bar, each.count) for each in notes_of(passage.bars)] == [
        (3, "2&"), (3, "3"), (4, "1"),
    ]  # fmt: skip
    assert passage.tempo == pytest.approx(72.0)


def test_a_part_is_named_and_its_cue_with_it(duet: Path) -> None:
    """By name or by number."""
    by_name = find_passage(str(duet), part="flute", cue_part="Piano")
    assert by_name == find_passage(str(duet), part="2", cue_part="1")
    assert len(notes_of(by_name.cue)) == 5
    with pytest.raises(RequestError, match="there is no part 'Tuba'"):
        find_passage(str(duet), part="Tuba")
    with pytest.raises(RequestError, match="there is no bar 9: the passage has bars 1 to 4"):
        find_passage(str(duet), "9")


def test_a_part_of_a_drill_is_no_wish_that_can_be_met(rag: Path) -> None:
    """Said plainly rather than passed over."""
    with pytest.raises(RequestError, match=r"part. and .*cue-part. are for scores"):
        find_passage(str(rag), part="1")


def test_a_drill_takes_its_bars_from_the_score(duet: Path) -> None:
    """A reference, with the drill's own title, tempo and entries over it."""
    name = drill(
        duet.parent, 'title = "Entry"', 'part = "Flute"', 'cue_part = "Piano"', 'bars = "2-4"',
        "tempo = 36", "[[entry]]", "bar = 3", 'count = "2 &"', "prepare = 2",
    )  # fmt: skip
    passage = find_passage(name)
    assert (passage.title, float(passage.tempo), len(passage.bars)) == ("Entry", 36.0, 3)
    assert [(mark.bar, mark.count, int(mark.prepare)) for mark in passage.marks] == [(3, "2&", 2)]
    assert passage.cue


@pytest.mark.parametrize(
    ("lines", "words"),
    [
        (['bars = "7-9"'], "there is no bar 7: the passage has bars 1 to 4"),
        (["[[entry]]", "bar = 3", 'count = "2"'], "no note begins there"),
        (["[[entry]]", "bar = 8", 'count = "2"'], "an entry is asked for in bar 8"),
        (['beat = "half a beat"'], "there is no beat"),
        (
            ["[accompaniment]", 'recording = "a.flac"', "meet = [1, 9]"],
            "to meet is asked for in bar 9",
        ),
    ],
)
def test_what_does_not_go_with_the_score_names_the_drill(
    duet: Path, lines: list[str], words: str
) -> None:
    """Its writer can mend it."""
    with pytest.raises(DrillError, match=words) as caught:
        find_passage(drill(duet.parent, 'part = "Flute"', *lines))
    assert str(caught.value).startswith("duet.toml")


def test_a_score_that_changed_is_told_of(duet: Path) -> None:
    """A corrected note is no surprise; a new layout or title is nothing."""
    name = drill(duet.parent, 'part = "Flute"')
    (hint,) = show_passage(ShowWish(name)).warnings
    seen = hint[hint.index(TOLD_TODAY) + len(TOLD_TODAY) :].partition('"')[0]
    assert len(seen) == 8
    name = drill(duet.parent, 'part = "Flute"', f'seen = "{seen}"')
    assert show_passage(ShowWish(name)).warnings == ()
    text = duet.read_text(encoding="utf-8")
    duet.write_text(text.replace("<part-list>", "<credit/><part-list>"), encoding="utf-8")
    assert show_passage(ShowWish(name)).warnings == ()
    duet.write_text(text.replace("<step>A</step>", "<step>G</step>"), encoding="utf-8")
    (told,) = show_passage(ShowWish(name)).warnings
    assert told.startswith("duet.musicxml has changed in these bars since duet.toml was written")


def test_a_score_that_is_missing_is_a_sentence(tmp_path: Path) -> None:
    """With the name that was typed."""
    with pytest.raises(FileError, match=r"there is no file .*none\.mxl"):
        find_passage(str(tmp_path / "none.mxl"))
    with pytest.raises(FileError, match="cannot be read"):
        find_passage(str(_folder(tmp_path)))


def _folder(tmp_path: Path) -> Path:
    folder = tmp_path / "folder.mxl"
    folder.mkdir()
    return folder


@pytest.mark.parametrize(
    "words",
    [
        ["show", "{}", "--part", "Flute", "--json"],
        ["track", "{}", "--part", "2", "--bars", "3-4", "-o", "{}.mid"],
        ["clap", "{}", "--part", "Flute", "--bars", "3-4", "--dry-run"],
        ["enter", "{}", "--cue-part", "Piano", "--dry-run"],
        ["pack", "{}", "--part", "Flute", "--into", "{}.pack", "--rungs", "1", "--bars", "3"],
    ],
)
def test_every_command_takes_a_part_of_a_score(
    duet: Path, words: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    """A score is practised like any drill."""
    assert run([word.format(duet) for word in words]) == 0, capsys.readouterr().err
    said = capsys.readouterr().err
    assert ("part 2 is taken" in said) == ("--part" not in words)


def test_what_to_type_next_names_the_same_part(
    duet: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """The next command works as it stands."""
    assert run(["clap", str(duet), "--part", "Flute", "--dry-run"]) == 0
    assert f"{duet} --part Flute" in capsys.readouterr().out
