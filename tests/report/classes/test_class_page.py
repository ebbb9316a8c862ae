"""The page and the words of a class."""

import re

import pytest

from rhythmtrain.report.classes.page import class_page
from rhythmtrain.report.classes.text import class_json, class_text
from rhythmtrain.report.classes.view import (
    NOT_REACHED,
    RIGHT,
    Cell,
    ClassHeard,
    OtherTake,
    StudentRow,
)


def row(name: str = "Anna", bars: int = 3, **changes: object) -> StudentRow:
    """Return a student with every bar right but the last, which was not reached."""
    cells = tuple(Cell(bar, "·", RIGHT) for bar in range(bars - 1))
    fields: dict[str, object] = {
        "name": name,
        "recording": f"{name}.wav",
        "pace": "at quarter = 60",
        "known": True,
        "complete": False,
        "cells": (*cells, Cell(bars - 1, "", NOT_REACHED)),
        "praise": "",
        "first": "Bar 2: beat 1 came late.",
        "page": f"{name}.html",
    }
    return StudentRow(**{**fields, **changes})  # type: ignore[arg-type]


def heard(
    rows: list[StudentRow], unheard: list[tuple[str, str]] | None = None, recordings: int = 1
) -> ClassHeard:
    """Return a class of these students."""
    return ClassHeard("Rag", tuple(rows), tuple(unheard or ()), recordings)


@pytest.mark.parametrize(("bars", "blocks"), [(1, [1]), (8, [8]), (9, [4, 5]), (17, [5, 6, 6])])
def test_long_passages_are_laid_out_in_even_blocks(bars: int, blocks: list[int]) -> None:
    """So that it prints, and a phone needs few columns."""
    page = class_page(heard([row(bars=bars), row("Béla", bars=bars)], [], 2))
    heads = re.findall(r"<thead>(.*?)</thead>", page)
    assert [head.count('scope="col"') - 1 for head in heads] == blocks
    assert page.count("</span>not played") == 2


def test_words_say_what_shapes_say_and_no_colour_does() -> None:
    """Not a grid of red and green; what is read aloud says all of it."""
    page = class_page(heard([row()], [], 1))
    assert len(re.findall(r'aria-hidden="true">', page)) == 3 + 6
    colours = set(re.findall(r"#[0-9a-fA-F]{3,6}\b", page))
    assert colours <= {
        "#fffdf8", "#1c1c1c", "#5a5448", "#cfc8b8", "#f1ece0", "#6b6455", "#0072b2", "#fff", "#e7e1d3",
    }  # fmt: skip


def test_names_are_no_markup_and_links_are_spelt_for_the_web() -> None:
    """A bracket, a blank, an accent, a hash."""
    page = class_page(heard([row("É <b> #1")], [("x <i>", "why & how")], 1))
    assert 'href="%C3%89%20%3Cb%3E%20%231.html"' in page
    assert "x &lt;i&gt;" in page
    assert "why &amp; how" in page


def test_another_piece_is_asked_about() -> None:
    """In the page and in words."""
    strange = row(known=False)
    assert "does not sound like this passage" in class_page(heard([strange], [], 1))
    assert "another piece?" in class_text(heard([strange]))


def test_the_text_tells_each_student_and_each_failure() -> None:
    """How much was right, what was not reached, the other recordings, what to do first."""
    told = row(others=(OtherTake("Anna 2.wav", "Bar 1."),), note="See me.")
    text = class_text(heard([told], [("Béla.m4a", "it is empty")], 2))
    assert "2 of 3 bars right, one not played, at quarter = 60 (one other recording)" in " ".join(
        text.split()
    )
    assert "Could not be heard\n  Béla.m4a  it is empty" in text
    document = class_json(heard([told], [("Béla.m4a", "it is empty")], 2))
    assert document["students"][0]["note"] == "See me."
    assert document["not_heard"] == [{"recording": "Béla.m4a", "why": "it is empty"}]


def test_a_class_of_which_nobody_could_be_heard_still_has_a_page() -> None:
    """With what is wrong with each recording."""
    assert "it is empty" in class_page(heard([], [("Anna.wav", "it is empty")], 0))
