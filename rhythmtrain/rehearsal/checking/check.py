"""Hearing a take against the passage: from two files to what is said, as text, JSON and page."""

from dataclasses import dataclass, replace
from datetime import UTC, datetime
from pathlib import Path

from rhythmtrain.assess.settings import Settings
from rhythmtrain.errors import FileError, RequestError
from rhythmtrain.rehearsal.checking.beside_recording import BesideWish, beside_recording
from rhythmtrain.rehearsal.checking.by_cues import judged_by_cues
from rhythmtrain.rehearsal.checking.checked import Asked, Checked, document, judged
from rhythmtrain.rehearsal.checking.keeping import keep_checked, kept_in_words
from rhythmtrain.rehearsal.checking.listening import hear_take
from rhythmtrain.rehearsal.cueing.known import with_notes
from rhythmtrain.rehearsal.passages.from_scores import Say, unsaid
from rhythmtrain.rehearsal.passages.passages import (
    Wish,
    practice_of,
    speed_of,
    whole_passage,
    wished_passage,
)
from rhythmtrain.rehearsal.recorded.accompaniment import MappedRecording, RecordingFiles
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.remedies import option
from rhythmtrain.report.take.commands import as_options
from rhythmtrain.report.take.instead_told import NOT_KEPT
from rhythmtrain.report.take.text import check_text
from rhythmtrain.storage.safely import check_place
from rhythmtrain.timing.timeline import Timeline, lay_out

# What sounds in a track over the recording that was played with.
WITH_RECORDING = "accompaniment,click,count"


@dataclass(frozen=True, slots=True)
class CheckWish(Wish):
    """What is to be checked, and how: options as typed."""

    start: float | None = None
    timing: str = "click"
    kind: str = "claps"
    aloud: bool = False
    report: Path | None = None
    keep: bool = False
    accompaniment: Path | None = None
    beats: Path | None = None
    freely: bool = False
    meet: str | None = None
    lead_in: int = 2
    notes: Path | None = None

    @property
    def beside(self) -> BesideWish:
        """Return what was said of the recording that was played with."""
        files = RecordingFiles(self.accompaniment, self.beats)
        return BesideWish(files, self.freely, self.meet, self.lead_in)


def check_file(path: Path, wish: CheckWish, *, progress: Progress = quietly) -> Told:
    """Return what was heard in the take at ``path``; writes the page and the history where asked.

    Raises:
        RequestError: options that do not go together, bars that do not exist.
        TakeError: nothing was heard.
        DrillError, FileError: the passage or the take does not read.
    """
    if wish.aloud and wish.kind != "claps":
        raise RequestError(
            f"{option('aloud')} is for claps: leave it out with {option('as', wish.kind)}"
        )
    if wish.report is not None and wish.report.suffix.lower() not in (".html", ".htm"):
        raise RequestError(f"the report is a page: name it like heard.html, not {wish.report}")
    if wish.report is not None:
        check_place(wish.report)
    said: list[str] = []
    checked = check(path, wish, progress=progress, say=said.append)
    files: tuple[Path, ...] = ()
    if wish.report is not None:
        from rhythmtrain.rehearsal.checking.report_page import write_page  # noqa: PLC0415

        write_page([(checked, path)], wish.report, title="What was heard", progress=progress)
        files = (wish.report,)
    text = check_text(checked.heard, checked.said, take=path.name)
    if files:
        text += f"\n\nReport written to {files[0]}: open it in a browser."
    told = document(checked)
    if _another_piece(checked):
        failure = f"{path.name}: {checked.said.first}"
        return Told(text, told, files, tuple(said), failure)
    answer = Told(text, told, files, tuple(said))
    return _with_history(answer, checked, wish, path) if wish.keep else answer


def _with_history(answer: Told, checked: Checked, wish: CheckWish, path: Path) -> Told:
    """Return the answer once the take is kept; where that fails it is told all the same.

    What is not the rhythm but the beat is no take of it.
    """
    if checked.findings.instead is not None:
        return replace(answer, text=f"{answer.text}\n\n{NOT_KEPT}")
    said = [*answer.warnings]
    try:
        number = keep_checked(checked, wish, now=_played_at(path), say=said.append)
    except FileError as error:
        failure = f"the take was heard but not kept: {error}"
        return replace(answer, warnings=tuple(said), failure=failure)
    text = f"{answer.text}\n\n{kept_in_words(number)}"
    told = answer.document | {"kept_as": number}
    return replace(answer, text=text, document=told, warnings=tuple(said))


def check(
    path: Path, wish: CheckWish, *, progress: Progress = quietly, say: Say = unsaid
) -> Checked:
    """Return the take at ``path`` heard against the passage of ``wish``.

    ``say`` is given each sentence on how the passage was read.
    """
    timeline, settings, recorded = _asked(wish, say)
    timeline = with_notes(timeline, wish.passage, wish.notes, say)
    take = hear_take(path, kind=wish.kind, aloud=wish.aloud, progress=progress)
    for remark in take.remarks:
        say(remark)
    heard_too = as_options({"layers": WITH_RECORDING}) + wish.beside.files.as_typed
    sounding = heard_too if recorded is not None else ""
    asked = Asked(
        wish.passage,
        wish.bars,
        wish.kind,
        part=wish.options,
        sounding=sounding,
        aloud=wish.aloud,
    )
    return judged_by_cues(lambda known: judged(known, take, settings, asked), timeline, recorded)


def _asked(wish: CheckWish, say: Say) -> tuple[Timeline, Settings, MappedRecording | None]:
    """Return the passage as it was practised, how the take is to be judged, and the recording."""
    passage = wished_passage(wish, say)
    if wish.timing == "recording":
        whole = whole_passage(wish.passage, part=wish.part, cue_part=wish.cue_part)
        found = beside_recording(wish, wish.beside, passage, whole, start_s=wish.start)
        return found.timeline, found.settings, found.found
    if replace(wish.beside, lead_in=BesideWish().lead_in) != BesideWish():
        raise RequestError(
            f"{option('accompaniment')}, {option('beats')}, {option('freely')} and {option('meet')} "
            f"are for a take played with a recording: add {option('timing', 'recording')}"
        )
    settings = Settings(timing=wish.timing, start_s=wish.start, speed=speed_of(wish, passage))
    return lay_out(passage, practice_of(wish, passage)), settings, None


def _played_at(path: Path) -> datetime:
    """Return when a recording was made, as far as its file says: now where that is impossible.

    So a recording that is checked again is the same take, on the day it was played.
    """
    now = datetime.now(UTC)
    try:
        made = datetime.fromtimestamp(path.stat().st_mtime, UTC)
    except (OSError, OverflowError, ValueError):
        made = now
    return min(made, now).astimezone()


def _another_piece(checked: Checked) -> bool:
    return checked.findings.looks_like is False and checked.findings.instead is None
