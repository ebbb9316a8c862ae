"""Finding the passage that is named, and how it is practised."""

from pathlib import Path

import pytest

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.passages.drills import list_drills
from rhythmtrain.rehearsal.passages.passages import (
    Wish,
    bar_range,
    find_passage,
    practice_of,
    speed_of,
)
from rhythmtrain.rehearsal.passages.show import ShowWish, show_passage


def test_a_passage_is_found_by_file_or_by_name(rag: Path) -> None:
    """And cut to the bars asked for."""
    assert find_passage(str(rag)).title == "Kitchen Rag"
    assert find_passage("towpath-rag").title == "Towpath Rag, second strain"
    assert [bar.number for bar in find_passage(str(rag), "2-3").bars] == [2, 3]
    assert [bar.number for bar in find_passage(str(rag), "4").bars] == [4]


@pytest.mark.parametrize("text", ["all", "1-", "-3", "1-2-3", "", "\u0661"])
def test_bars_are_two_numbers(text: str) -> None:
    """Said with an example."""
    with pytest.raises(RequestError, match="written like 17-24 or 17"):
        bar_range(text)


def test_bars_that_run_backwards_are_refused_wherever_they_are_typed() -> None:
    """Also where they only say how many beats will be tapped."""
    with pytest.raises(RequestError, match="bars 8-5 run backwards: write the lower number first"):
        bar_range("8-5")


def test_bars_are_read_with_blanks() -> None:
    """As people type them."""
    assert bar_range(" 17 - 24 ") == (17, 24)
    assert bar_range("9") == (9, 9)


def test_a_drill_with_a_score_for_its_rhythm_says_what_is_missing(tmp_path: Path) -> None:
    """Whoever hands out a drill must hand out its score with it."""
    path = tmp_path / "scored.toml"
    path.write_text('title = "x"\nscore = "piece.musicxml"\npart = "1"\n', encoding="utf-8")
    with pytest.raises(FileError, match=r"names .piece\.musicxml., but there is no such file"):
        find_passage(str(path))


def test_speed_and_tempo_say_the_same_thing(rag: Path) -> None:
    """A share of the written tempo, or beats a minute; nothing said is as written."""
    passage = find_passage(str(rag))
    assert speed_of(Wish("x", tempo=36), passage) == 0.5
    assert speed_of(Wish("x", speed=0.6), passage) == 0.6
    assert speed_of(Wish("x"), passage) is None
    practice = practice_of(Wish("x", repeats=3, count_in=1, echo=2), passage)
    assert (practice.speed, practice.repeats, practice.count_in, practice.echo) == (1.0, 3, 1, 2)


@pytest.mark.parametrize("speed", [0.0, 0.05, 5.0, float("nan")])
def test_a_speed_nobody_can_practise_at_is_refused(rag: Path, speed: float) -> None:
    """With what is allowed."""
    with pytest.raises(RequestError, match=r"speed must be 0\.1 to 4 times"):
        speed_of(Wish("x", speed=speed), find_passage(str(rag)))


def test_speed_and_tempo_together_are_refused(rag: Path) -> None:
    """They might disagree."""
    with pytest.raises(RequestError, match="not both"):
        speed_of(Wish("x", speed=0.5, tempo=60), find_passage(str(rag)))


def test_drills_are_listed_narrowly_in_order() -> None:
    """Each with what it trains, wrapped under itself."""
    told = list_drills()
    names = [drill["name"] for drill in told.document["drills"]]
    assert len(names) >= 24
    assert all(len(line) <= 78 for line in told.text.splitlines())
    lines = told.text.splitlines()
    starts = [
        next(n for n, line in enumerate(lines) if line.startswith(f"{name} ")) for name in names
    ]
    assert starts == sorted(starts)
    assert all(drill["about"].split()[0] in told.text for drill in told.document["drills"])


def test_a_passage_is_shown_as_text_and_document(rag: Path) -> None:
    """The same passage in both, in either usage."""
    told = show_passage(ShowWish(str(rag), "1-2", british=True))
    assert "Kitchen Rag" in told.text
    assert "crotchet" in told.text
    assert told.document["title"] == "Kitchen Rag"
