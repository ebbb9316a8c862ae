"""The teacher's line, or a name, on a page that was written before: put there without hearing anew.

The page of a student holds one place for that line; it is made by the same template as when the
page was written, so nothing else of the page is touched.  The student's name is its title.
"""

import re
from dataclasses import replace
from html import escape

from jinja2 import Environment, PackageLoader, StrictUndefined

from rhythmtrain.report.classes.view import ClassHeard

PLACE = re.compile(r'<div class="teacher">.*?</div></div>', re.DOTALL)
TITLES = re.compile(r"<(title|h1)>.*?</\1>", re.DOTALL)


def with_line(page: str, line: str, *, written_there: bool = True) -> str:
    """Return the student's ``page`` with the teacher's ``line`` in place of what stood there.

    ``written_there`` leaves a place to write on the page itself, where it is printed or saved;
    without it the line is only shown, because it is typed elsewhere.
    """
    template = Environment(
        loader=PackageLoader("rhythmtrain.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    ).get_template("teacher.html")  # fmt: skip
    made = template.render(number=1, line=line, here=written_there)
    return PLACE.sub(lambda _: made, page, count=1)


def with_name(page: str, name: str) -> str:
    """Return the student's ``page`` with ``name`` as its title."""
    return TITLES.sub(lambda each: f"<{each[1]}>{escape(name)}</{each[1]}>", page, count=2)


def with_lines(heard: ClassHeard, lines: dict[str, str]) -> ClassHeard:
    """Return a class with the teacher's ``lines`` by the students' names."""
    rows = tuple(replace(row, note=lines.get(row.name, "")) for row in heard.rows)
    return replace(heard, rows=rows)
