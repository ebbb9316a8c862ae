"""``show --plot``: the sheet with its hard bars marked under the notes, never on them."""

import re
from itertools import pairwise
from pathlib import Path

import pytest

from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.passages.passages import find_passage
from rhythmtrain.rehearsal.passages.show import ShowWish, show_passage
from rhythmtrain.score.difficulty.hard import hard_spots

BRACKET = re.compile(r'<path class="hard" d="M([\d.]+) \d+ V\d+ H([\d.]+)')
WORD = re.compile(r'<text class="hard" x="([\d.]+)"[^>]*>([^<]*)<')


def drawn(name: str, folder: Path) -> str:
    """Return the plot of a passage as SVG."""
    show_passage(ShowWish(name, plot=folder / "p.svg"))
    return (folder / "p.svg").read_text(encoding="utf-8")


@pytest.mark.parametrize("name", ["towpath-rag", "lock-keepers-rag", "off-beats"])
def test_every_hard_bar_is_marked_by_shape_and_word_and_no_other(name: str, tmp_path: Path) -> None:
    """Whoever sees no colours finds them too."""
    svg = drawn(name, tmp_path)
    hard = [spot.bar for spot in hard_spots(find_passage(name))]
    named = [words for _, words in WORD.findall(svg)]
    for number, words in zip(hard, named, strict=True):
        assert words in {f"bar {number}: hard" if number else "upbeat: hard", "hard"}
    assert named.count("hard") <= len(hard) // 2
    assert len(BRACKET.findall(svg)) == len(hard)
    assert "Where it is hard" in svg


def test_each_word_stands_in_the_middle_of_its_bracket(tmp_path: Path) -> None:
    """A bracket reaches from bar line to bar line, and none into the next."""
    svg = drawn("towpath-rag", tmp_path)
    brackets = [(float(left), float(right)) for left, right in BRACKET.findall(svg)]
    middles = [float(x) for x, _ in WORD.findall(svg)]
    assert middles == [pytest.approx((left + right) / 2) for left, right in brackets]
    begun_afresh = [a for a, b in pairwise(brackets) if a[1] >= b[0]]
    assert len(begun_afresh) == 1
    assert begun_afresh[0][1] > 1000
    assert max(right for _, right in brackets) <= 1850


def test_a_passage_without_hard_bars_is_drawn_plain(tmp_path: Path) -> None:
    """Nothing is made of nothing."""
    svg = drawn("steady-quarters", tmp_path)
    assert "hard" not in svg


def test_the_text_is_told_as_ever_and_says_where_the_drawing_is(tmp_path: Path) -> None:
    """Both at once."""
    told = show_passage(ShowWish("towpath-rag", plot=tmp_path / "p.png"))
    assert "Where it is hard" in told.text
    assert str(tmp_path / "p.png") in told.text
    assert told.document["plots"] == [str(tmp_path / "p.png")]
    assert (tmp_path / "p.png").read_bytes().startswith(b"\x89PNG")


def test_a_drawing_that_cannot_be_written_is_refused_first(tmp_path: Path) -> None:
    """In one line, and nothing is left."""
    with pytest.raises(RequestError, match="a sheet ends in"):
        show_passage(ShowWish("towpath-rag", plot=tmp_path / "p.doc"))
    with pytest.raises(FileError, match="does not exist"):
        show_passage(ShowWish("towpath-rag", plot=tmp_path / "no" / "p.svg"))
    assert not list(tmp_path.iterdir())


def test_a_passage_is_drawn_and_given_away_at_once(tmp_path: Path) -> None:
    """A pipe gets the score alone; where the drawing is stands beside it."""
    piped = show_passage(ShowWish("towpath-rag", form="musicxml", plot=tmp_path / "p.svg"))
    assert piped.text.endswith("</score-partwise>")
    assert piped.warnings == (f"Drawn in {tmp_path / 'p.svg'}",)
    both = show_passage(ShowWish("towpath-rag", output=tmp_path / "r.mid", plot=tmp_path / "p.svg"))
    assert both.files == (tmp_path / "r.mid", tmp_path / "p.svg")
