"""How long notes were held, in words: "held two of three beats", cut-offs before rests first."""

from dataclasses import dataclass
from statistics import median

from rhythmtrain.assess.held_as import HeldAs, LengthFinding
from rhythmtrain.assess.judging.lengths import amiss
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.words import bar_in_words, beats_in_words, count_in_words, how_often

HALF = 0.5


@dataclass(frozen=True, slots=True)
class HeldRow:
    """One place of the passage: its bar, where in it, and how long it was held there."""

    bar: int
    place: str
    what: str


def held_rows(heard: Heard) -> tuple[HeldRow, ...]:
    """Return one row for each place that was held otherwise than written."""
    places: dict[tuple[int, str, HeldAs], list[LengthFinding]] = {}
    for each in amiss(heard.findings.lengths):
        places.setdefault((each.bar, each.count, each.verdict), []).append(each)
    return tuple(
        HeldRow(
            bar,
            f"{bar_in_words(bar)}, {count_in_words(heard.passage, bar, count)}",
            _what(heard, found),
        )
        for (bar, count, _), found in places.items()
    )


def held_in_words(verdict: HeldAs, held: float, written: float, *, before_rest: bool) -> str:
    """Return how long a note was held, in beats to the half: "held two of three beats"."""
    halves = max(round(held / HALF), 1) * HALF
    whole = beats_in_words(round(written, 3))
    if verdict is HeldAs.HELD_ON:
        return f"held on into the rest, {beats_in_words(halves)} instead of {_bare(whole)}"
    words = f"held {_bare(beats_in_words(halves))} of {whole}"
    return f"{words}, before the rest" if before_rest else words


def _what(heard: Heard, found: list[LengthFinding]) -> str:
    first = found[0]
    held = median(each.held_beats for each in found)
    words = held_in_words(first.verdict, held, first.written_beats, before_rest=first.before_rest)
    of = sum((each.bar, each.count) == (first.bar, first.count) for each in heard.findings.lengths)
    often = how_often([each.repeat for each in found], of)
    return f"{words}, {often}" if often else words


def _bare(words: str) -> str:
    """Return a number of beats without its noun; "half a beat" keeps it."""
    return words if words.startswith("half") else words.removesuffix(" beats").removesuffix(" beat")
