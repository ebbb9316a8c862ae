"""The entries that went amiss, said to the player: one sentence for each place, with what helps.

Steadily late after an accompanist whom one hears means waiting for the note instead of counting to
it; that is said once, and in place of "a little late" everywhere.
"""

from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass

from rhythmtrain.assess.findings import EntryFinding, Verdict
from rhythmtrain.report.take.flags import LITTLE, entries_amiss
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.words import bar_in_words, bars_in_words, how_often, sentence
from rhythmtrain.score.passage import numbered

STEADILY = 2
DRIFTED = "drifted"
MOST_BEATS = 12


@dataclass(frozen=True, slots=True)
class EntryTold:
    """What is said of the entry in ``bar`` after ``rest_bars`` whole bars."""

    bar: int
    rest_bars: int
    words: str


def entries_told(heard: Heard) -> tuple[EntryTold, ...]:
    """Return one sentence for each entry that needs a word, in the order of the passage."""
    amiss = list(entries_amiss(heard.findings))
    waiting = _waiting(heard)
    amiss = [entry for entry in amiss if entry not in waiting]
    places = dict.fromkeys((entry.bar, entry.count) for entry in amiss)
    told = [
        _place(heard, [entry for entry in amiss if (entry.bar, entry.count) == place])
        for place in places
    ]
    return (*_waiting_told(waiting), *told)


def wrong_cue_in_words(bar: int) -> str:
    """Return that an entry came after another cue, the one that leads to ``bar``."""
    return f"after the wrong cue: the same one leads to {bar_in_words(bar)} too"


def _waiting(heard: Heard) -> tuple[EntryFinding, ...]:
    """Return the late entries of a player who waits to hear the cue: all of them, two or more."""
    findings = heard.findings
    sounding = bool(heard.passage.cue) or findings.timing == "recording"
    checked = [entry for entry in findings.entries if entry.verdict != Verdict.NOT_CHECKED]
    late = tuple(entry for entry in checked if entry.verdict == Verdict.LATE)
    steadily = STEADILY <= len(late) == len(checked)
    return late if sounding and steadily else ()


def _waiting_told(waiting: tuple[EntryFinding, ...]) -> Iterator[EntryTold]:
    if waiting:
        first = waiting[0]
        bars = bars_in_words(entry.bar for entry in waiting)
        yield EntryTold(
            first.bar,
            first.rest_bars,
            f"You came in a little late every time, in {bars}: as one does who waits to hear the "
            "accompanist's note. Count to it, and come in together with it.",
        )


def _place(heard: Heard, amiss: list[EntryFinding]) -> EntryTold:
    entry = amiss[0]
    of = sum(
        (each.bar, each.count, each.verdict != Verdict.NOT_CHECKED)
        == (entry.bar, entry.count, True)
        for each in heard.findings.entries
    )
    verdict = Counter(each.verdict for each in amiss).most_common(1)[0][0]
    alike = [each for each in amiss if each.verdict == verdict]
    often = how_often([each.repeat for each in alike], of)
    came = f"{bar_in_words(entry.bar)}: {_came(alike[0], alone=len(alike) == 1)}"
    words = sentence(f"{came}, {often}" if often else came)
    return EntryTold(entry.bar, entry.rest_bars, f"{words} {_help(heard, entry)}")


def _came(entry: EntryFinding, *, alone: bool) -> str:
    """Return how it went; the finer sentence only where it is about one time alone."""
    if entry.verdict == Verdict.MISSED:
        return "the entry was not heard"
    if entry.verdict in LITTLE:
        return f"you came in a little {entry.verdict}"
    if entry.verdict == DRIFTED:
        return f"you came in {entry.sentence}" if alone and entry.sentence else "the count drifted"
    if entry.wrong_cue is not None:
        return f"you came in {entry.verdict}, {wrong_cue_in_words(entry.wrong_cue)}"
    return f"you came in {entry.verdict}"


def _help(heard: Heard, entry: EntryFinding) -> str:
    """Return what helps: a long rest is counted bar by bar, "1 2 3 4, 2 2 3 4 …"."""
    breathe = "and breathe a beat before you come in."
    if entry.verdict in LITTLE or entry.rest_bars <= 1:
        return f"Count the rest aloud, {breathe}"
    metre = heard.passage.bars[numbered(heard.passage, entry.bar)].metre
    beats = " ".join(map(str, range(2, min(len(metre.beats), MOST_BEATS) + 1)))
    said = ", ".join(f"{bar} {beats}".strip() for bar in range(1, min(entry.rest_bars, 3) + 1))
    more = "…" if entry.rest_bars > 3 else ""  # noqa: PLR2004  (three bars show the way)
    return f"Count its bars aloud, {said}{more}, {breathe}"
