"""The page of a class: a row a student, a column a bar, and what each is to do first.

Long passages are laid out in blocks of bars below each other, so that the page prints and a phone
shows it without many columns.
"""

from collections.abc import Sequence
from itertools import pairwise
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined

from rhythmtrain.assess.findings import Verdict
from rhythmtrain.report.classes.view import FIGURE_SHAPE, RIGHT, ClassHeard, StudentRow, columns_of
from rhythmtrain.report.take.heard_rows import EXTRA_SHAPE, SHAPES
from rhythmtrain.report.words import sentence, several

BARS_A_BLOCK = 8
KEY = (
    (SHAPES[Verdict.IN_TIME], RIGHT),
    (SHAPES[Verdict.EARLY], "early"),
    (SHAPES[Verdict.LATE], "late"),
    (SHAPES[Verdict.MISSED], "not heard"),
    (FIGURE_SHAPE, "another rhythm"),
    (EXTRA_SHAPE, "too many"),
)


BY_HAND = (
    "Your own line for each student goes into notes.toml in this folder, and stands here and on the "
    "student\N{RIGHT SINGLE QUOTATION MARK}s page the next time the class is heard."
)


def class_page(heard: ClassHeard, *, lines: str = BY_HAND) -> str:
    """Return the whole page as HTML text; ``lines`` says how the teacher's lines come onto it."""
    rows = heard.rows
    page = Environment(
        loader=PackageLoader("rhythmtrain.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    ).get_template("class.html")  # fmt: skip
    heads = columns_of(max((row.cells for row in rows), key=len, default=()))
    return page.render(
        title=heard.title,
        counted=sentence(
            f"{several(len(rows), 'student')}, {several(heard.recordings, 'recording')} heard"
        ),
        lines=lines,
        blocks=[_block(rows, heads[some], some) for some in _blocks(len(heads))],
        students=[{"row": row, "link": row.page} for row in rows],
        unheard=heard.unheard,
        key=KEY,
    )


def _blocks(bars: int) -> list[slice]:
    """Return blocks of about as many bars each, none of more than ``BARS_A_BLOCK``."""
    many = -(-bars // BARS_A_BLOCK)
    edges = [place * bars // many for place in range(many + 1)] if many else []
    return [slice(first, stop) for first, stop in pairwise(edges)]


def _block(rows: Sequence[StudentRow], heads: Sequence[str], some: slice) -> dict[str, Any]:
    """Return the columns of one block of bars, with a row for every student."""
    return {
        "heads": heads,
        "rows": [
            {
                "name": row.name,
                "link": row.page,
                "cells": row.cells[some],
                "known": row.known,
                "instead": row.instead,
            }
            for row in rows
        ],
    }
