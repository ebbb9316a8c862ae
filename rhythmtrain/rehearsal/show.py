"""Showing a passage: its rhythm, counts, entries, and where it is hard."""

from rhythmtrain.rehearsal.passages import find_passage
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.show import show_text
from rhythmtrain.report.show_json import show_json


def show_passage(name: str, bars: str | None = None, *, british: bool = False) -> Told:
    """Return the passage ``name`` as text and as the stable JSON document."""
    passage = find_passage(name, bars)
    return Told(show_text(passage, british=british), show_json(passage))
