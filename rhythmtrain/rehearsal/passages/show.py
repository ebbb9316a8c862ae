"""Showing a passage: its rhythm, counts, entries, and where it is hard; or giving it away."""

from dataclasses import dataclass, replace
from pathlib import Path

from rhythmtrain.rehearsal.passages.export import check_export, export_passage
from rhythmtrain.rehearsal.passages.from_scores import seen_now
from rhythmtrain.rehearsal.passages.passages import Wish, wished_passage
from rhythmtrain.rehearsal.passages.sheet import check_sheet, plot_passage
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.report.passage.document import show_json
from rhythmtrain.report.passage.show import show_text
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.drills import load_drill
from rhythmtrain.storage.scores import is_score


@dataclass(frozen=True, slots=True)
class ShowWish(Wish):
    """What is to be shown: options as typed."""

    british: bool = False
    form: str | None = None
    output: Path | None = None
    plot: Path | None = None

    @property
    def exports(self) -> bool:
        """Tell whether the passage is to be given to another program."""
        return self.form is not None or self.output is not None


def show_passage(wish: ShowWish) -> Told:
    """Return the passage that ``wish`` names as text and as the stable JSON document.

    With ``plot`` it is also drawn there as a sheet with its hard bars marked.  With a ``form`` or an
    ``output`` the text is the passage in that form, or where it was written.

    Raises:
        RequestError: bars or a part that do not exist, a form and an ending that do not go together.
        DrillError, FileError: the passage does not read, or the file cannot be written.
    """
    said: list[str] = []
    form = check_export(wish.form, wish.output) if wish.exports else ""
    if wish.plot is not None:
        check_sheet(wish.plot)
    passage = wished_passage(wish, said.append)
    if form:
        told = export_passage(passage, form, wish.output)
    else:
        said += _hints(wish, passage)
        told = Told(show_text(passage, british=wish.british), show_json(passage))
    told = replace(told, warnings=(*said, *told.warnings))
    return told if wish.plot is None else _plotted(told, wish, passage, wish.plot)


def _hints(wish: ShowWish, passage: Passage) -> list[str]:
    """Return what to write into a drill that names a score, so that changes are told."""
    whole = wish.bars is None and wish.part is None
    if not whole or is_score(wish.passage):
        return []
    hint = seen_now(load_drill(wish.passage), passage)
    return [hint] if hint else []


def _plotted(told: Told, wish: ShowWish, passage: Passage, plot: Path) -> Told:
    """Return ``told`` with where the passage was drawn; beside a text for another program unsaid."""
    files = plot_passage(passage, plot, british=wish.british)
    where = f"Drawn in {', '.join(map(str, files))}"
    document = told.document | {"plots": [str(file) for file in files]}
    if wish.exports and wish.output is None:
        warnings = (*told.warnings, where)
        return replace(told, document=document, files=files, warnings=warnings)
    text = f"{told.text}\n{where}"
    return replace(told, text=text, document=document, files=(*told.files, *files))
