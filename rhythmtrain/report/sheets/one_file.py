"""A practice sheet as one HTML file: its pages inside it, ready for a screen or a printer."""

from collections.abc import Sequence
from functools import cache

from jinja2 import Environment, PackageLoader, StrictUndefined, Template

from rhythmtrain.report.sheets.papers import A4, Paper


def sheet_html(pages: Sequence[str], title: str, paper: Paper = A4) -> str:
    """Return the SVG ``pages`` as one HTML document, a sheet of ``paper`` for each."""
    return _template().render(pages=pages, title=title, paper=paper.css)


@cache
def _template() -> Template:
    return Environment(
        loader=PackageLoader("rhythmtrain.report"), autoescape=True, undefined=StrictUndefined,
        trim_blocks=True, lstrip_blocks=True,
    ).get_template("sheet.html")  # fmt: skip
