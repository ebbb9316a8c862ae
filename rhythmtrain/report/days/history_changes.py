"""What today's rules tell otherwise of a take than was told when it was played."""

from typing import Any

from rhythmtrain.report.words import bar_in_words

Document = dict[str, Any]
Place = tuple[Any, ...]
MOST_CHANGES = 12
SAME_MS = 0.5
NOT_SAID = "nothing"


def changes(before: Document, after: Document) -> tuple[str, ...]:
    """Return a line for everything that a person would be told otherwise, in the passage's order.

    ``before`` and ``after`` are documents of checks; what ``before`` does not say is no change.
    """
    found = [
        *_whether_it_is(before, after),
        *_habit(before, after),
        *_verdicts(before, after, "notes", "{place}: {old} before, {new} now"),
        *_verdicts(before, after, "entries", "the entry in {place}: {old} before, {new} now"),
        *_figures(before, after),
    ]
    left = len(found) - MOST_CHANGES
    return (*found[:MOST_CHANGES], f"and {left} more") if left > 0 else tuple(found)


def _whether_it_is(before: Document, after: Document) -> list[str]:
    key = "looks_like_the_passage"
    old, new = before.get(key), after.get(key)
    if key not in before or old == new:
        return []
    return [f"it was taken for {_what(before)} before, for {_what(after)} now"]


def _what(document: Document) -> str:
    """Return what a take was taken for."""
    if document.get("clapped_instead"):
        return "the beat, not the rhythm"
    words = {True: "this passage", False: "another piece", None: "too little to tell"}
    return words[document.get("looks_like_the_passage")]


def _habit(before: Document, after: Document) -> list[str]:
    old, new = ((each.get("offset_ms") or {}).get("median") for each in (before, after))
    if old is None or new is None or abs(old - new) < SAME_MS:
        return []
    return [f"your habit is {_side(new)} and not {_side(old)}"]


def _side(ms: float) -> str:
    return f"{abs(ms):.0f} ms {'late' if ms > 0 else 'early'}"


def _verdicts(before: Document, after: Document, key: str, words: str) -> list[str]:
    old, new = (
        {_place(row): _said(row) for row in each.get(key) or ()} for each in (before, after)
    )
    if not old:
        return []
    return [
        words.format(place=_place_in_words(place), old=old.get(place, NOT_SAID), new=said)
        for place, said in new.items()
        if old.get(place, NOT_SAID) != said
    ]


def _place(row: Document) -> Place:
    return row.get("bar"), row.get("count"), row.get("repeat", 1)


def _place_in_words(place: Place) -> str:
    bar, count, repeat = place
    again = f", time {repeat}" if isinstance(repeat, int) and repeat > 1 else ""
    return f"{bar_in_words(bar)}, {count}{again}"


def _said(row: Document) -> str:
    """Return what a person reads of a note or entry: a little early or late is left alone."""
    verdict = {"missed": "not heard"}.get(str(row.get("verdict")), str(row.get("verdict")))
    if verdict in ("early", "late") and row.get("plain") is False:
        return f"a little {verdict}"
    return verdict


def _figures(before: Document, after: Document) -> list[str]:
    if "mistakes" not in before:
        return []
    old, new = (
        {(row.get("bar"), row.get("what")) for row in each.get("mistakes") or ()}
        for each in (before, after)
    )
    gone = [f"no longer told of {bar_in_words(bar)}: {what}" for bar, what in sorted(old - new)]
    return [*gone, *(f"now told of {bar_in_words(bar)}: {what}" for bar, what in sorted(new - old))]
