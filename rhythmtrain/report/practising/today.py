"""What to do today, and why: one sentence for each thing, as a teacher would say it."""

from collections.abc import Callable
from datetime import date

from rhythmtrain.coach.today import Item, Later, Why
from rhythmtrain.report.words import bar_in_words, bars_in_words, several


def todo_in_words(item: Item) -> str:
    """Return what to do: "Towpath Rag, bars 6 and 7 alone, at 42 beats a minute"."""
    pace = f"at {item.tempo:g} beats a minute"
    if item.entry is not None:
        return f"{item.title}, the entry in {bar_in_words(item.entry[0])}, {pace}"
    if item.bars:
        return f"{item.title}, {bars_in_words(item.bars)} alone, {pace}"
    return f"{item.title}, all of it, {pace}"


def why_in_words(item: Item) -> str:
    """Return why it is to be done today, in one sentence."""
    return _WHY[item.why](item)


def later_in_words(later: Later, today: date) -> str:
    """Return in one sentence when a passage comes again, and why not today."""
    return f"{later.title}: {_LATER[later.why](_in_nights((later.due - today).days))}"


def _new(_item: Item) -> str:
    return "You have not played all of it here yet: it begins slowly."


def _slow_first(_item: Item) -> str:
    return "It does not yet go right nearly every time at the slowest tempo, so it stays there."


def _weak_bars(item: Item) -> str:
    once = "it" if len(item.bars) == 1 else "them"
    return f"What went wrong lately went wrong there: do {once} alone and slower, then all of it."


def _faster(item: Item) -> str:
    return f"It stood at {_reached(item)}, so this is the next tempo up."


def _faded(item: Item) -> str:
    return f"It was sure once, but not lately{_nights(item)}: begin slowly, it comes back quickly."


def _entry(_item: Item) -> str:
    return "You do not yet come in right nearly every time without help."


def _hold(item: Item) -> str:
    return f"It stands at its tempo{_nights(item)}: play it once or twice, so that it stays."


_WHY: dict[Why, Callable[[Item], str]] = {
    Why.NEW: _new,
    Why.SLOW_FIRST: _slow_first,
    Why.WEAK_BARS: _weak_bars,
    Why.FASTER: _faster,
    Why.FADED: _faded,
    Why.ENTRY: _entry,
    Why.HOLD: _hold,
}
_LATER: dict[Why, Callable[[str], str]] = {
    Why.A_NIGHT_FIRST: lambda when: f"you did it today; it comes again {when}, after a night.",
    Why.RESTS: lambda when: f"it stands at its tempo; it comes again {when}.",
    Why.ENOUGH: lambda _when: "it is due too, but what stands above is enough for one day.",
}


def _in_nights(nights: int) -> str:
    return "tomorrow" if nights == 1 else f"in {several(nights, 'day')}"


def _reached(item: Item) -> str:
    return "a slower tempo" if item.reached is None else f"{item.reached:g}"


def _nights(item: Item) -> str:
    return f" (last played {several(item.nights, 'night')} ago)" if item.nights else ""
