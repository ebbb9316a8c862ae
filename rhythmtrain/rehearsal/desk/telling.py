"""A take that was heard, told to the page: words first, then where each mark stands under the notes."""

from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Protocol

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.checking.checked import Checked, document
from rhythmtrain.rehearsal.checking.report_page import section, write_page
from rhythmtrain.rehearsal.desk.page_words import at_the_page
from rhythmtrain.rehearsal.desk.sitting import Lately
from rhythmtrain.rehearsal.live.keeping import Kept
from rhythmtrain.rehearsal.live.report import TITLE
from rhythmtrain.report.take.entry_rows import entry_rows
from rhythmtrain.report.take.heard_rows import heard_rows
from rhythmtrain.report.take.instead_told import begin_with
from rhythmtrain.report.take.picture_rows import Spot, spots_of
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.take.small_print import small_print
from rhythmtrain.report.take.text import pace_told

Document = dict[str, Any]
MOST_SPOTS = 4_000
SHAPES = {"<": "◀", ">": "▶", "x": "\N{MULTIPLICATION SIGN}"}
IN_TIME, MISSED = "·", "○"


class HeardTake(Protocol):
    """A take that was heard, played here or brought as a file."""

    @property
    def checked(self) -> Checked:
        """What was heard, against what."""

    @property
    def kept(self) -> Kept:
        """What became of it."""

    @property
    def notes(self) -> tuple[str, ...]:
        """What is to be said of how it was heard."""

    def sound_file(self, folder: Path) -> Path:
        """Return where its sound lies; ``folder`` is for what has to be written."""


def take_told(finished: HeardTake, takes: Lately[HeardTake]) -> Document:
    """Return what was heard in ``finished``, and keep it so that bars of it can be heard."""
    checked = finished.checked
    heard, known = checked.heard, checked.findings.looks_like is not False
    return {
        "heard": takes.keep(finished),
        "passage": heard.passage.title,
        "pace": pace_told(heard),
        "said": [list(row) for row in checked.said.labelled],
        "rows": [_row(each) for each in heard_rows(heard)] if known else [],
        "entries": [_entry(each) for each in entry_rows(checked.findings, heard.passage)]
        if known
        else [],
        "notes": [*finished.notes, *finished.kept.said, *finished.kept.warnings],
        "print": list(small_print(heard)),
        "lane": _lane(checked, heard) if known else [],
        "worth_hearing": sorted({row.bar for row in heard_rows(heard)}) if known else [],
        "amiss": _amiss(heard),
        "document": document(checked),
        "kept_as": finished.kept.number,
    }


def bar_sound(takes: Lately[HeardTake], name: str, bar: int, folder: Path) -> bytes:
    """Return a bar of the take ``name``, then the same bar as written, as MP3.

    ``folder`` is for what goes again.

    Raises:
        RequestError: nothing was to be said of that bar, or the take is gone.
    """
    finished = takes.get(name)
    with TemporaryDirectory(dir=folder) as passing:
        sound = section(finished.checked, finished.sound_file(Path(passing))).clips.get(bar)
    if sound is None:
        raise RequestError(f"nothing was said of bar {bar}: there is nothing to hear of it")
    return sound


def report_written(takes: Lately[HeardTake], name: str, folder: Path) -> str:
    """Return the whole report of the take ``name`` as a page; ``folder`` is for what goes again."""
    finished = takes.get(name)
    with TemporaryDirectory(dir=folder) as passing:
        output = Path(passing) / "report.html"
        sound = finished.sound_file(Path(passing))
        write_page([(finished.checked, sound)], output, title=TITLE, words=at_the_page)
        return output.read_text("utf-8")


def _row(row: Any) -> Document:
    return {"bar": row.bar, "place": row.place, "shape": row.shape, "what": row.what}


def _entry(row: Any) -> Document:
    return {"bar": row.bar, "place": row.place, "went": row.went, "after": row.after}


def _lane(checked: Checked, heard: Heard) -> list[Document]:
    bars = heard.passage.bars
    spots = spots_of(heard.findings, checked.timeline)[:MOST_SPOTS]
    return [_spot(spot) | {"quarters": float(bars[spot.index].ends)} for spot in spots]


def _spot(spot: Spot) -> Document:
    mark = spot.mark
    usual = MISSED if not mark.filled else IN_TIME
    return {
        "index": spot.index,
        "at": spot.at,
        "repeat": spot.repeat,
        "shape": SHAPES.get(mark.shape, usual),
        "colour": mark.colour,
        "word": mark.word,
    }


def _amiss(heard: Heard) -> list[int] | None:
    """Return the first and last bar that want another look, None where nothing does.

    After the beat in place of the rhythm it is the bar to begin with.
    """
    instead = heard.findings.instead
    if instead is not None:
        bar = begin_with(heard, instead)
        return None if bar is None else [bar, bar]
    if heard.findings.looks_like is False:
        return None
    bars = sorted(
        {flag.bar for flag in heard.flags} | {each.bar for each in heard.findings.mistakes}
    )
    return [bars[0], bars[-1]] if bars else None
