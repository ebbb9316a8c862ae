"""What a check told, read back from its JSON document, so that it can be shown as it was told.

The document may come from an older version or another machine.  What later versions added may be
missing; what is of another shape is refused in one sentence.
"""

from typing import Any

from rhythmtrain.assess.clapped_rows import Instead, Row
from rhythmtrain.assess.findings import (
    BarFinding,
    EntryFinding,
    Extra,
    Findings,
    Mistake,
    NoteFinding,
    Spread,
    Tally,
    Try,
    Verdict,
)
from rhythmtrain.assess.held_as import HeldAs, LengthFinding
from rhythmtrain.errors import TakeError

Document = dict[str, Any]
SPREAD = ("median", "mean", "sd", "low", "high")
TALLY = ("expected", "matched", "missed", "extra", "not_checked")


def findings_of(document: Document, *, tempo_found: bool) -> Findings:
    """Return the findings that ``document`` was made of, as far as reports read them.

    ``tempo_found`` is whether the tempo was found from the take, which the document does not say.

    Raises:
        TakeError: it is not the document of a check.
    """
    try:
        return _findings(document, tempo_found=tempo_found)
    except KeyError as error:
        raise TakeError(f"what was heard cannot be shown: {error.args[0]} is missing") from error
    except (ValueError, TypeError, AttributeError, IndexError) as error:
        raise TakeError("what was heard was kept in another form and cannot be shown") from error


def _findings(told: Document, *, tempo_found: bool) -> Findings:
    tries = tuple(
        Try(int(each["from_bar"]), int(each["to_bar"]), each["start_s"], bool(each["complete"]))
        for each in told["tries"]
    )
    shown = int(told["try"])
    notes = tuple(_note(each, number) for number, each in enumerate(told["notes"]))
    mistakes = tuple(_mistake(each) for each in told["mistakes"])
    if tries and not 0 <= shown < len(tries):
        raise ValueError(shown)
    if any(not 0 <= note < len(notes) for each in mistakes for note in each.notes):
        raise ValueError(mistakes)
    return Findings(
        timing=str(told["timing"]),
        speed=float(told["speed"]),
        tempo_found=tempo_found,
        looks_like=told["looks_like_the_passage"],
        start=str(told["start"]),
        start_s=float(told["start_s"]),
        tries=tries,
        shown=shown,
        shift_beats=None if told["shift"] is None else float(told["shift"]["beats"]),
        tally=Tally(*(int(told["tally"][name]) for name in TALLY)),
        spread=_spread(told["offset_ms"]),
        drift_percent=_number(told["drift_percent"]),
        uncertainty_s=_seconds(told["uncertainty_ms"]) or 0.0,
        notes=notes,
        extras=tuple(
            Extra(float(each["time_s"]), int(each["bar"]), str(each["count"]))
            for each in told["extras"]
        ),
        mistakes=mistakes,
        entries=tuple(_entry(each) for each in told["entries"]),
        bars=tuple(_bar(each) for each in told["bars"]),
        remarks=tuple(str(remark) for remark in told.get("remarks") or ()),
        lengths=tuple(_length(each) for each in told.get("lengths") or ()),
        instead=_instead(told.get("clapped_instead")),
    )


def _note(told: Document, number: int) -> NoteFinding:
    return NoteFinding(
        note=number,
        bar=int(told["bar"]),
        count=str(told["count"]),
        repeat=int(told["repeat"]),
        expected_s=float(told["expected_s"]),
        played_s=_number(told["played_s"]),
        offset_s=_seconds(told["offset_ms"]),
        verdict=Verdict(told["verdict"]),
        plain=bool(told["plain"]),
        window_s=0.0,
        meets=bool(told.get("meets")),
    )


def _mistake(told: Document) -> Mistake:
    return Mistake(
        int(told["bar"]),
        str(told["count"]),
        str(told["what"]),
        tuple(int(note) for note in told["notes"]),
        int(told["times"]),
        int(told["of"]),
    )


def _entry(told: Document) -> EntryFinding:
    cue = told.get("wrong_cue")
    return EntryFinding(
        bar=int(told["bar"]),
        count=str(told["count"]),
        repeat=int(told.get("repeat", 1)),
        rest_bars=int(told["rest_bars"]),
        rest_beats=float(told["rest_beats"]),
        offset_s=_seconds(told["offset_ms"]),
        offset_beats=_number(told["offset_beats"]),
        verdict=str(told["verdict"]),
        sentence="",
        wrong_cue=None if cue is None else int(cue["bar"]),
    )


def _instead(told: Document | None) -> Instead | None:
    if told is None:
        return None
    bars = tuple(int(bar) for bar in told["bars"])
    return Instead(
        Row(told["what"]),
        float(told["speed"]),
        _seconds(told["spread_ms"]) or 0.0,
        bars,
        bool(told["sure"]),
    )


def _length(told: Document) -> LengthFinding:
    return LengthFinding(
        int(told["bar"]),
        str(told["count"]),
        int(told["repeat"]),
        float(told["written_beats"]),
        float(told["held_beats"]),
        bool(told["before_rest"]),
        HeldAs(told["verdict"]),
    )


def _bar(told: Document) -> BarFinding:
    return BarFinding(
        int(told["bar"]),
        int(told["matched"]),
        int(told["missed"]),
        int(told["extra"]),
        _seconds(told["median_offset_ms"]),
        _seconds(told["sd_ms"]),
    )


def _spread(told: Document) -> Spread | None:
    known = [_seconds(told[name]) for name in SPREAD]
    numbers = [value for value in known if value is not None]
    return Spread(*numbers) if len(numbers) == len(SPREAD) else None


def _number(value: float | None) -> float | None:
    return None if value is None else float(value)


def _seconds(milliseconds: float | None) -> float | None:
    return None if milliseconds is None else float(milliseconds) / 1000
