"""What is said of a pack when it is made."""

from rhythmtrain.report.packs.text import failed_words, made_text, page_title, size_words
from rhythmtrain.units import Bpm


def test_a_failure_names_the_drill_once() -> None:
    """A message that begins with the drill's name does not need it twice."""
    assert failed_words([("x.toml", "x.toml:3: a count is missing")], 27) == (
        "1 of 27 could not be made: x.toml:3: a count is missing"
    )
    assert failed_words([("x.toml", "the disk is full")], 2) == (
        "1 of 2 could not be made: x.toml: the disk is full"
    )


def test_many_failures_are_cut_short() -> None:
    """Ten reasons are enough to see what is wrong."""
    told = failed_words([(f"{number}.toml", "full") for number in range(14)], 14)
    assert told.count("full") == 10
    assert told.endswith("; and 4 more")


def test_the_ladders_stand_under_each_other() -> None:
    """One readable row a passage."""
    text = made_text(
        [("rag", "quarter", (Bpm(36.0), Bpm(72.0))), ("waltz", "quarter", (Bpm(96.0),))],
        page="out/index.html",
        size="5 files, 1.2 MB",
    )
    assert text.splitlines()[:2] == ["rag    quarter = 36 72", "waltz  quarter = 96"]
    assert "Open out/index.html" in text


def test_sizes_and_titles_are_plain() -> None:
    """Nothing to work out in one's head."""
    assert size_words(1, 1_240_000) == "1 file, 1.2 MB"
    assert page_title(["Rag"]) == "Rag"
    assert page_title(["Rag"] * 13) == "13 rhythms to practise"
