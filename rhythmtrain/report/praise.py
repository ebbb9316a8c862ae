"""One true thing that went well: the first of a row of things to be glad of that holds."""

from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise

from rhythmtrain.assess.findings import Findings, Verdict
from rhythmtrain.report.flags import Flag, clean_bars
from rhythmtrain.report.words import bars_in_words, several
from rhythmtrain.score.hard import hard_spots
from rhythmtrain.score.passage import Passage

STEADY_PERCENT = 1.0
MOST = 0.8


@dataclass(frozen=True, slots=True)
class Heard:
    """What praise and advice look at."""

    findings: Findings
    passage: Passage
    flags: tuple[Flag, ...]

    @property
    def clean(self) -> tuple[int, ...]:
        """Return the bars in which nothing needs a word."""
        return clean_bars(self.findings, self.flags)


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
    whole = tally.matched == tally.expected - tally.not_checked and not tally.extra
    if whole and not heard.flags and not findings.mistakes and _entries_right(heard):
        return "Every note was there and in time."
    return ""


def _entries_right(heard: Heard) -> bool:
    fine = (Verdict.IN_TIME, Verdict.NOT_CHECKED)
    return all(entry.verdict in fine for entry in heard.findings.entries)


def _entry(heard: Heard) -> str:
    right = [entry for entry in heard.findings.entries if entry.verdict == Verdict.IN_TIME]
    if not right:
        return ""
    longest = max(right, key=lambda entry: entry.rest_beats)
    if longest.rest_bars:
        return (
            f"You came in where you should in bar {longest.bar}, "
            f"after {several(longest.rest_bars, 'bar')} of rest."
        )
    return f"You came in where you should in bar {longest.bar}."


def _hardest(heard: Heard) -> str:
    spots = hard_spots(heard.passage)
    clean = set(heard.clean)
    for spot in sorted(spots, key=lambda spot: -spot.score)[:2]:
        if spot.bar in clean:
            first = spot is max(spots, key=lambda each: each.score)
            return f"Bar {spot.bar}, {'the hardest' if first else 'a hard one'}, was in time."
    return ""


def _clean_run(heard: Heard) -> str:
    clean = heard.clean
    runs: list[list[int]] = [[bar] for bar in clean[:1]]
    for before, bar in pairwise(clean):
        if bar == before + 1:
            runs[-1].append(bar)
        else:
            runs.append([bar])
    best = max(runs, key=len, default=[])
    if not best:
        return ""
    return f"{bars_in_words(best).capitalize()} {'was' if len(best) == 1 else 'were'} in time."


def _steady(heard: Heard) -> str:
    drift = heard.findings.drift_percent
    if drift is not None and abs(drift) < STEADY_PERCENT:
        return "You kept one tempo from beginning to end."
    return ""


def _to_the_end(heard: Heard) -> str:
    shown = heard.findings.tries[heard.findings.shown] if heard.findings.tries else None
    return "You kept going to the end." if shown is not None and shown.complete else ""


def _some(heard: Heard) -> str:
    tally = heard.findings.tally
    return f"{tally.matched} of {tally.expected - tally.not_checked} notes were there."


_REASONS: tuple[Callable[[Heard], str], ...] = (
    _everything, _entry, _hardest, _clean_run, _steady, _to_the_end, _some,
)  # fmt: skip
