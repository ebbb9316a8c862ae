"""Holds of a count line: ``[ ]`` stands only where a note sounds on, on any way into its bar."""

from fractions import Fraction

from rhythmtrain.score.countline.signs import in_bar
from rhythmtrain.score.countline.words import Word
from rhythmtrain.score.naming import sounding_into
from rhythmtrain.score.passage import Bar, Kind

# The word of every hold, by the index of its bar and its place in it.
Holds = dict[tuple[int, Fraction], Word]


def check_holds(bars: tuple[Bar, ...], held: Holds) -> None:
    """Raise DrillError for a hold where nothing sounds; ``held`` knows each hold's word."""
    for index, (bar, sounding) in enumerate(zip(bars, sounding_into(bars), strict=True)):
        here = sounding
        for place in bar.places:
            if place.kind is not Kind.HELD:
                here = place.kind is Kind.PLAYED
            elif not here:
                word = held[index, place.at]
                raise in_bar(
                    word.error(
                        f"[{word.text}] holds a note, but nothing sounds there: "
                        f"write ({word.text}) for silence"
                    ),
                    bar.number,
                )
