"""One true thing that went well: the first of a row of things to be glad of that holds."""

from collections.abc import Callable
from dataclasses import dataclass

from rhythmtrain.assess.findings import EntryFinding, Findings, Verdict
from rhythmtrain.report.take.flags import Flag, clean_bars
from rhythmtrain.report.take.playing import NOTES, Playing
from rhythmtrain.report.words import bar_in_words, bars_in_words, runs, several
from rhythmtrain.score.difficulty.hard import hard_spots
from rhythmtrain.score.passage import Passage

STEADY_PERCENT = 1.0
FEWEST_FOR_STEADY = 12
MOST = 0.5


@dataclass(frozen=True, slots=True)
class Heard:
    """What praise and advice look at: what was found, in which passage, and what was played.

    ``sounding`` are the options with which what was played to sounds again (" --layers …").
    """

    findings: Findings
    passage: Passage
    flags: tuple[Flag, ...]
    playing: Playing = NOTES
    sounding: str = ""

    @property
    def clean(self) -> tuple[int, ...]:
        """Return the bars in which every note was in time."""
        return clean_bars(self.findings)


def praise(heard: Heard) -> str:
    """Return one true sentence of praise, or "" where the take is not of this passage."""
    if heard.findings.looks_like is False or not heard.findings.tally.matched:
        return ""
    for reason in _REASONS:
        words = reason(heard)
        if words:
            return words
    return ""


def _everything(heard: Heard) -> str:
    tally, findings = heard.findings.tally, heard.findings
    whole = tally.matched == tally.expected and not tally.extra
    right = all(entry.verdict == Verdict.IN_TIME for entry in findings.entries)
    if not whole or heard.flags or findings.mistakes or findings.shift_beats or not right:
        return ""
    if all(note.verdict is Verdict.IN_TIME for note in findings.notes):
        return f"Every {heard.playing.noun} was there and in time."
    return f"Every {heard.playing.noun} was there, and nothing stood out."


def _entry(heard: Heard) -> str:
    findings = heard.findings
    wrong = {(entry.bar, entry.count) for entry in findings.entries if not _right(entry)}
    right = [entry for entry in findings.entries if (entry.bar, entry.count) not in wrong]
    if findings.shift_beats or not right:
        return ""
    longest = max(right, key=lambda entry: entry.rest_beats)
    where = f"You came in where you should in {bar_in_words(longest.bar)}"
    if longest.rest_bars:
        return f"{where}, after {several(longest.rest_bars, 'bar')} of rest."
    return f"{where}."


def _right(entry: EntryFinding) -> bool:
    return entry.verdict == Verdict.IN_TIME


def _hardest(heard: Heard) -> str:
    spots = sorted(hard_spots(heard.passage), key=lambda spot: -spot.score)
    clean = set(heard.clean)
    for rank, spot in enumerate(spots[:2]):
        if spot.bar in clean:
            name = bar_in_words(spot.bar)
            which = "a hard one" if rank else "the hardest"
            return f"{name[:1].upper()}{name[1:]}, {which}, was {_well(heard)}."
    return ""


def _clean_run(heard: Heard) -> str:
    best = max(runs(heard.clean), key=len, default=[])
    if not best:
        return ""
    words = bars_in_words(best)
    return f"{words[:1].upper()}{words[1:]} {'was' if len(best) == 1 else 'were'} {_well(heard)}."


def _well(heard: Heard) -> str:
    """Return what a right bar was: whoever is a beat out all through is still right in themselves."""
    return "right in itself" if heard.findings.shift_beats else "in time"


def _steady(heard: Heard) -> str:
    drift = heard.findings.drift_percent
    enough = heard.findings.tally.matched >= FEWEST_FOR_STEADY
    if drift is not None and abs(drift) < STEADY_PERCENT and enough:
        return "You kept a steady tempo."
    return ""


def _to_the_end(heard: Heard) -> str:
    findings = heard.findings
    checked = findings.tally.expected - findings.tally.not_checked
    shown = findings.tries[findings.shown] if findings.tries else None
    if shown is not None and shown.complete and findings.tally.matched >= MOST * checked:
        return "You got through to the end."
    return ""


def _some(heard: Heard) -> str:
    """Return how much was there: all that was tried, most of it, or the fullest bar."""
    tally, noun = heard.findings.tally, heard.playing.noun
    checked = tally.expected - tally.not_checked
    if tally.matched == checked:
        return f"Every {noun} you tried was there."
    if tally.matched >= MOST * checked:
        return f"Most of the {noun}s were there."
    fullest = max(heard.findings.bars, key=lambda bar: bar.matched - bar.missed, default=None)
    if fullest is None or fullest.matched <= fullest.missed:
        return ""
    return f"Most of {bar_in_words(fullest.bar)} was there."


_REASONS: tuple[Callable[[Heard], str], ...] = (
    _everything, _entry, _hardest, _clean_run, _steady, _to_the_end, _some,
)  # fmt: skip
