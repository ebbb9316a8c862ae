"""The places of a rhythm that a drill names: entries to practise, bars where tune and recording meet."""

from collections.abc import Iterable
from dataclasses import replace

from rhythmtrain.errors import DrillError
from rhythmtrain.score.counts import count_name, place_of
from rhythmtrain.score.passage import Bar, EntryMark, Kind


def checked_mark(mark: EntryMark, bars: tuple[Bar, ...]) -> EntryMark:
    """Return ``mark`` with its count in one spelling, once a note begins there.

    Raises:
        DrillError: there is no such bar or count, or no note begins there.
    """
    named = [bar for bar in bars if bar.number == mark.bar]
    if not named:
        raise DrillError(_no_bar(mark.bar, bars, "an entry"))
    try:
        at = place_of(named[0].metre, mark.count)
    except DrillError as error:
        raise DrillError(error.message, bar=mark.bar) from None
    for bar in named:
        if any(place.at == at and place.kind is Kind.PLAYED for place in bar.places):
            return replace(mark, count=count_name(bar.metre, at))
    raise DrillError(
        f"an entry is asked for on {mark.count} of bar {mark.bar}, but no note begins there"
    )


def check_meetings(meet: Iterable[int], bars: tuple[Bar, ...]) -> None:
    """Refuse a place to meet in a bar that there is not.

    Raises:
        DrillError: there is no such bar.
    """
    numbers = {bar.number for bar in bars}
    for number in meet:
        if number not in numbers:
            raise DrillError(_no_bar(number, bars, "a place to meet"))


def _no_bar(number: int, bars: tuple[Bar, ...], what: str) -> str:
    return (
        f"{what} is asked for in bar {number}, but the rhythm has bars "
        f"{bars[0].number} to {bars[-1].number}"
    )
