"""The numbers that one practises by, at the page: each with its limits and what supports it, to be set."""

from dataclasses import fields
from typing import Any

from rhythmtrain.coach.settings import GROUNDS, LIMITS, MEANINGS, USUAL, WHOLE, Order, Settings
from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.practising.settings import practice_settings, set_numbers

Document = dict[str, Any]


def numbers_told() -> Document:
    """Return every number: what it is, is usually and may be, what it means and what supports it.

    Raises:
        RequestError, FileError: the user's own file holds what is no such number, or is damaged.
    """
    settings = practice_settings()
    return {"numbers": [_number(each.name, settings) for each in fields(Settings)]}


def numbers_kept(asked: Asked) -> Document:
    """Set the number "number" to "value", or with "usual" all of them to what is usual; tell them all.

    Raises:
        RequestError: no such number, or a value out of range.
        FileError: it cannot be kept.
    """
    if asked.truth("usual"):
        set_numbers(None)
    else:
        name, value = asked.text("number"), asked.values.get("value")
        if value is None:
            raise RequestError(f"what is {name[:40]} to be? Give a value")
        set_numbers({name: value})
    return numbers_told()


def _number(name: str, settings: Settings) -> Document:
    limits = LIMITS.get(name)
    return {
        "name": name,
        "value": getattr(settings, name),
        "usual": getattr(USUAL, name),
        "least": None if limits is None else limits[0],
        "most": None if limits is None else limits[1],
        "whole": name in WHOLE,
        "choices": list(Order) if limits is None else [],
        "meaning": MEANINGS[name],
        "ground": GROUNDS[name],
    }
