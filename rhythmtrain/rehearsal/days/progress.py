"""How it goes over the days, and what to do today: from the history to text, JSON, picture, page."""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from rhythmtrain.coach.today import Today, plan_for_today
from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.days.practised import progress_of
from rhythmtrain.rehearsal.passages.known_names import known_as
from rhythmtrain.rehearsal.practising.settings import practice_settings
from rhythmtrain.rehearsal.told import Told
from rhythmtrain.rehearsal.typed_words import as_typed
from rhythmtrain.remedies import remedy
from rhythmtrain.report.days.document import progress_json
from rhythmtrain.report.days.text import overview_text, progress_text
from rhythmtrain.report.days.view import Progress
from rhythmtrain.report.lines import hanging
from rhythmtrain.storage.history.days import PassageKept
from rhythmtrain.storage.history.history import open_history
from rhythmtrain.storage.safely import check_place, write_bytes_safely

PICTURES = (".png", ".svg")
PAGES = (".html", ".htm")


@dataclass(frozen=True, slots=True)
class ProgressWish:
    """What is to be told: options as typed; no passage means all of them."""

    passage: str | None = None
    plot: Path | None = None
    report: Path | None = None


def tell_progress(
    wish: ProgressWish, *, now: datetime | None = None, words: Callable[[str], str] = as_typed
) -> Told:
    """Return how it goes and what to do today; writes the picture and the page where asked.

    ``now`` is the time on the player's own clock, ``words`` those of ``progress_page``.

    Raises:
        RequestError: a picture without a passage, or of another kind; no take of that passage.
        FileError: the history cannot be read, a file cannot be written.
    """
    _check(wish)
    today = (now or datetime.now(UTC).astimezone()).date()
    settings = practice_settings()
    said: list[str] = []
    with open_history(say=said.append) as history:
        kept = history.passages()
        if wish.passage is not None:
            kept = _of(kept, wish.passage)
        in_full = wish.passage is not None or wish.report is not None
        found = [progress_of(history, each, today, settings, in_full=in_full) for each in kept]
    passages = tuple(each for each in found if each is not None)
    plan = plan_for_today((each.state for each in passages), today, settings)
    failure = _undrawable(wish, passages)
    drawn = _drawn(wish, passages) if not failure else ()
    files = (*drawn, *_page(wish, passages, plan, today, words))
    if wish.passage is not None and passages:
        text = progress_text(passages[0], plan, today)
    else:
        text = overview_text(passages, plan, today)
    written = [hanging("", f"Written to {path}.", indent=0) for path in files]
    text = "\n\n".join([text, *written])
    return Told(
        text,
        progress_json(passages, plan, in_full=wish.passage is not None),
        files,
        tuple(said),
        failure,
    )


def _check(wish: ProgressWish) -> None:
    if wish.plot is not None:
        if wish.passage is None:
            raise RequestError(f"say which passage is to be drawn{remedy('progress-of')}")
        if wish.plot.suffix.lower() not in PICTURES:
            raise RequestError(f"a picture ends in {' or '.join(PICTURES)}, not {wish.plot.name}")
        check_place(wish.plot)
    if wish.report is not None:
        if wish.report.suffix.lower() not in PAGES:
            raise RequestError(f"the report is a page: name it like page.html, not {wish.report}")
        check_place(wish.report)


def _of(kept: tuple[PassageKept, ...], name: str) -> tuple[PassageKept, ...]:
    """Return the one passage that was asked for, also where its file is gone.

    Raises:
        RequestError: nothing of it was kept, though something was of others.
    """
    known = name if any(each.passage == name for each in kept) else known_as(name)
    found = tuple(each for each in kept if each.passage == known)
    if kept and not found:
        titles = ", ".join(each.title for each in kept[:5])
        raise RequestError(
            f"nothing of {name} is in your history yet: {remedy('clap-it', name)} begins with it "
            f"(there is something of {titles})"
        )
    return found


def _undrawable(wish: ProgressWish, passages: tuple[Progress, ...]) -> str:
    """Return why the picture that was asked for cannot be drawn, if it cannot."""
    if wish.plot is None or (passages and passages[0].days):
        return ""
    return f"{wish.plot.name} was not written: there is nothing to draw yet"


def _drawn(wish: ProgressWish, passages: tuple[Progress, ...]) -> tuple[Path, ...]:
    """Write the picture where one was asked for, and return its file."""
    if wish.plot is None:
        return ()
    from rhythmtrain.report.days.picture import progress_picture  # noqa: PLC0415

    kind = wish.plot.suffix.lower().removeprefix(".")
    write_bytes_safely(wish.plot, progress_picture(passages[0], kind=kind))
    return (wish.plot,)


def _page(
    wish: ProgressWish,
    passages: tuple[Progress, ...],
    plan: Today,
    today: date,
    words: Callable[[str], str],
) -> tuple[Path, ...]:
    """Write the page where one was asked for, and return its file."""
    if wish.report is None:
        return ()
    from rhythmtrain.report.days.page import progress_page  # noqa: PLC0415

    page = progress_page(passages, plan, today, words=words)
    write_bytes_safely(wish.report, page.encode("utf-8"))
    return (wish.report,)
