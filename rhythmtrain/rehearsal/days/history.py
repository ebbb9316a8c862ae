"""The takes that were kept: listed, one shown as it was told then, judged again, deleted."""

from dataclasses import asdict, fields, replace
from datetime import date, datetime, time

from rhythmtrain.errors import FileError, RequestError, RhythmtrainError
from rhythmtrain.rehearsal.checking.checked import Checked, document
from rhythmtrain.rehearsal.checking.keeping import Say, judged_again, passage_of
from rhythmtrain.rehearsal.passages.known_names import known_as
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.remedies import option, remedy
from rhythmtrain.report.days.history_changes import changes
from rhythmtrain.report.days.history_text import TakeLine, day_in_words, history_text
from rhythmtrain.report.lines import hanging
from rhythmtrain.report.take.advice import Advice
from rhythmtrain.report.take.commands import look_back
from rhythmtrain.report.take.flags import flags
from rhythmtrain.report.take.playing import playing_of
from rhythmtrain.report.take.praise import Heard, praise
from rhythmtrain.report.take.reading import findings_of
from rhythmtrain.report.take.text import check_text
from rhythmtrain.report.words import number, sentence, several
from rhythmtrain.storage.history.days import TakeSummary
from rhythmtrain.storage.history.history import History, KeptTake, open_history

USUAL_LIMIT = 30
NONE_OF_THESE = f"There is no such take in your history; {remedy('list-takes', 'all there are')}."


def list_takes(
    passage: str | None = None, *, since: str | None = None, limit: int = USUAL_LIMIT
) -> Told:
    """Return the takes in the history, the newest first.

    ``since`` is a date such as 2026-03-01.

    Raises:
        RequestError: a date or limit that is none.
        FileError: the history cannot be read.
    """
    if limit < 1:
        raise RequestError(f"{option('limit')} must be 1 or more takes, got {limit}")
    begin = None if since is None else _date(since)
    said: list[str] = []
    with open_history(say=said.append) as history:
        name = None if passage is None else _kept_name(passage, history)
        found = history.summaries(name, begin, limit + 1)
        others = bool(history.summaries(limit=1))
    told = {"takes": [asdict(each) for each in found[:limit]]}
    text = history_text([_line(each) for each in found[:limit]], more=len(found) > limit)
    if others and not found:
        text = NONE_OF_THESE
    return Told(text, told, warnings=tuple(said))


def show_take(number: int) -> Told:
    """Return one take as it was told when it was heard.

    Raises:
        RequestError: there is no take of that number.
    """
    said: list[str] = []
    kept = _take(number, said.append)
    record = kept.record
    named = f"take {number}, {day_in_words(record.day)}"
    told = {"take": number, "played_at": record.played_at.isoformat(), "check": record.document}
    try:
        text = _as_told(kept, named)
    except RhythmtrainError as error:
        said.append(str(error))
        lines = record.document.get("advice")
        advice = [hanging("", str(line), indent=2) for line in lines or ()]
        text = "\n".join([f"{record.title}, {named}", *advice])
    return Told(text, told, warnings=tuple(said))


def judge_again(number: int | None, *, every: bool = False, progress: Progress = quietly) -> Told:
    """Judge one take, or every one, by today's rules; keep the new judgement; tell what changed.

    Raises:
        RequestError: neither a number nor ``every``, or both; no take of that number.
        FileError: the one take cannot be judged again, or the history cannot be written to.
    """
    if (number is None) != every:
        raise RequestError(f"say which take{remedy('which-take')}")
    said: list[str] = []
    with open_history(say=said.append) as history:
        if number is not None:
            kept = _found(history, number)
            changed = _judged_and_kept(history, kept)
            return Told(_changed_text(number, changed), _changed(number, changed), (), tuple(said))
        numbers = [each.id for each in history.summaries()]
        rows, refused = [], []
        for done, each in enumerate(numbers):
            progress(done, len(numbers), "judging again")
            try:
                rows.append((each, _judged_and_kept(history, _found(history, each))))
            except RhythmtrainError as error:
                refused.append(f"take {each} stays as it was: {error}")
    return Told(_all_text(rows, refused), _all(rows, refused), (), tuple(said))


def about_take(number: int) -> str:
    """Return which take that number is, in a few words, to be asked about before it is deleted."""
    record = _take(number, lambda _: None).record
    where = f", bars {record.bars}" if record.bars else ""
    return f"take {number}: {record.title}{where}, {day_in_words(record.day)}"


def delete_take(number: int) -> Told:
    """Delete one take; RequestError where there is none of that number."""
    said: list[str] = []
    with open_history(say=said.append) as history:
        if not history.delete(number):
            raise RequestError(_no_take(number))
    return Told(f"Take {number} is deleted.", {"deleted": number}, warnings=tuple(said))


def _line(summary: TakeSummary) -> TakeLine:
    return TakeLine(**{each.name: getattr(summary, each.name) for each in fields(TakeLine)})


def _as_told(kept: KeptTake, named: str) -> str:
    """Return a take as ``rhythmtrain check`` told it, from what was kept of that."""
    record = kept.record
    findings = findings_of(record.document, tempo_found=not record.conditions.speed_known)
    unsure = sorted(each.uncertainty_s for each in record.onsets)[len(record.onsets) // 2 :]
    playing = playing_of(
        record.source,
        record.instrument,
        uncertainty_s=unsure[0] if unsure else 0.0,
        delay_known=record.conditions.delay_known,
    )
    heard = Heard(findings, passage_of(kept), flags(findings), playing)
    first, *others = record.document.get("advice") or ["Nothing was said of it."]
    command = look_back(record.passage_name)
    said = Advice(praise(heard), str(first), tuple(map(str, others)), command)
    try:
        return check_text(heard, said, take=named)
    except (ValueError, IndexError) as error:
        raise FileError(f"take {kept.id} speaks of bars that its passage does not have") from error


def _judged_and_kept(history: History, kept: KeptTake) -> tuple[str, ...]:
    """Judge a take by today's rules, keep that, and return what changed."""
    checked: Checked = judged_again(kept)
    told = document(checked)
    found = changes(kept.record.document, told)
    history.keep(replace(kept.record, document=told, speed=checked.findings.speed))
    return found


def _changed_text(number: int, changed: tuple[str, ...]) -> str:
    if not changed:
        return f"Take {number} is told by today's rules as it was told then."
    lines = [hanging("  ", line, indent=4) for line in changed]
    return "\n".join([f"By today's rules take {number} is told otherwise:", *lines])


def _changed(number: int, changed: tuple[str, ...]) -> dict[str, object]:
    return {"take": number, "changed": list(changed)}


def _all_text(rows: list[tuple[int, tuple[str, ...]]], refused: list[str]) -> str:
    told = [row for row in rows if row[1]]
    otherwise = "none" if not told else number(len(told))
    are = "are" if len(told) > 1 else "is"
    lines = [
        sentence(
            f"{several(len(rows), 'take')} judged by today's rules; {otherwise} {are} told otherwise"
        ),
        *(_changed_text(*row) for row in told),
        *(hanging("", line, indent=2) for line in refused),
    ]
    return "\n".join(lines)


def _all(rows: list[tuple[int, tuple[str, ...]]], refused: list[str]) -> dict[str, object]:
    return {"takes": [_changed(*row) for row in rows], "refused": refused}


def _take(number: int, say: Say) -> KeptTake:
    with open_history(say=say) as history:
        return _found(history, number)


def _found(history: History, number: int) -> KeptTake:
    kept = history.take(number)
    if kept is None:
        raise RequestError(_no_take(number))
    return kept


def _no_take(number: int) -> str:
    return f"there is no take {number} in your history: {remedy('list-takes', 'them')}"


def _kept_name(passage: str, history: History) -> str:
    """Return the name under which takes of ``passage`` are kept, also where its file is gone."""
    if any(each.passage == passage for each in history.passages()):
        return passage
    return known_as(passage)


def _date(text: str) -> datetime:
    try:
        return datetime.combine(date.fromisoformat(text), time()).astimezone()
    except (ValueError, OverflowError) as error:
        raise RequestError(
            f"{option('since')} is a date such as 2026-03-01, got {text[:40]!r}"
        ) from error
