"""What is amiss in a take, in the order in which a teacher would speak of it.

Is everything a beat away, or from a bar on; the entry; figures read wrongly; the notes that are
missing; the tempo that runs away, which makes notes late; a stop; notes that come early or late,
all those off the beat or some; unevenness; what was too many.  Each is said in a sentence or two, without milliseconds; what is amiss in many bars is said once.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from statistics import median

from rhythmtrain.assess.entry_words import class_words
from rhythmtrain.assess.findings import Verdict
from rhythmtrain.report.take.entry_told import entries_told
from rhythmtrain.report.take.figure_told import figures_told
from rhythmtrain.report.take.flags import LITTLE, Flag, away_s
from rhythmtrain.report.take.gone_through import leapt, off_the_beat, went_back
from rhythmtrain.report.take.heard_rows import extras_by_place
from rhythmtrain.report.take.held_rows import held_rows
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.words import (
    bar_in_words,
    count_in_words,
    few_bars_in_words,
    how_often,
    listed,
    sentence,
    several,
)

DRIFT_PERCENT = 3.0
UNEVEN = 1.5
NORMAL_95 = 1.96
ROBUST = 1.4826
FEW_BARS = 2
HABITUAL = 3


@dataclass(frozen=True, slots=True)
class Trouble:
    """One thing amiss: what is said of it, and the bars to practise (none: all of them)."""

    words: str
    bars: tuple[int, ...] = ()


def troubles(heard: Heard) -> tuple[Trouble, ...]:
    """Return everything that is amiss, the first thing to mend first."""
    return tuple(trouble for find in _TROUBLES for trouble in find(heard))


def _all_shifted(heard: Heard) -> Iterator[Trouble]:
    shift = heard.findings.shift_beats
    if not shift:
        return
    words = class_words(shift, len(heard.passage.metre.beats))
    if shift % 0.5:
        words = f"about {abs(shift):.1f} beats {'late' if shift > 0 else 'early'}"
    yield Trouble(
        f"Everything came {words}. Count the bar before it aloud, and begin on its next one."
    )


def _leapt(heard: Heard) -> Iterator[Trouble]:
    yield from (Trouble(*said) for said in leapt(heard))


def _went_back(heard: Heard) -> Iterator[Trouble]:
    yield from (Trouble(*said) for said in went_back(heard))


def _off_beat(heard: Heard) -> Iterator[Trouble]:
    yield from (Trouble(*said) for said in off_the_beat(heard))


def _entries(heard: Heard) -> Iterator[Trouble]:
    first_bar = heard.passage.bars[0].number
    for entry in entries_told(heard):
        low = max(entry.bar - entry.rest_bars - 1, first_bar)
        yield Trouble(entry.words, tuple(range(low, entry.bar + 1)))


def _figures(heard: Heard) -> Iterator[Trouble]:
    for words, bars in figures_told(heard.findings):
        yield Trouble(words, bars[:1])


def _missing(heard: Heard) -> Iterator[Trouble]:
    gone = [flag for flag in heard.flags if flag.verdict is Verdict.MISSED]
    bars = tuple(sorted({flag.bar for flag in gone}))
    if len(bars) > FEW_BARS:
        many = several(len(gone), heard.playing.noun)
        yield Trouble(
            f"{many[:1].upper()}{many[1:]} were not heard, in {few_bars_in_words(bars)}. Listen to "
            f"the slow track first, then {heard.playing.verb} along with it."
        )
        return
    for bar in bars:
        here = [flag for flag in gone if flag.bar == bar]
        yield Trouble(
            sentence(f"{_place(heard, here)} {_was(here)} not heard{_often(here)}"), (bar,)
        )


def _off(heard: Heard) -> Iterator[Trouble]:
    left = [flag for flag in heard.flags if flag.verdict in LITTLE]
    bars = tuple(sorted({flag.bar for flag in left}))
    verb = heard.playing.verb
    help_words = f"Say the counts of that bar aloud, then {verb} it alone, slowly."
    if len(bars) > FEW_BARS:
        sides = sorted({flag.verdict.value for flag in left})
        yield Trouble(
            f"Some {heard.playing.noun}s came {' or '.join(sides)}, in {few_bars_in_words(bars)}. "
            f"Begin with {bar_in_words(bars[0])}: say its counts aloud, then {verb} it alone, "
            "slowly.",
            (bars[0],),
        )
        return
    for bar in bars:
        for verdict in LITTLE:
            here = [flag for flag in left if (flag.bar, flag.verdict) == (bar, verdict)]
            if here:
                came = sentence(f"{_place(heard, here)} came {verdict.value}{_often(here)}")
                yield Trouble(f"{came} {help_words}", (bar,))


def _running(heard: Heard) -> Iterator[Trouble]:
    drift = heard.findings.drift_percent
    free = heard.findings.timing == "free"
    if drift is not None and abs(drift) >= DRIFT_PERCENT and not free:
        side = "faster" if drift > 0 else "slower"
        once_more = sentence(
            f"{heard.playing.verb} it once more with the {_with(heard)}, a little slower"
        )
        yield Trouble(f"You got {side} as you went. {once_more}")


def _uneven(heard: Heard) -> Iterator[Trouble]:
    """Yield a word about unevenness, measured so that single slips do not make it.

    What has a name of its own, a figure read wrongly again and again, is not called uneven too.
    """
    findings = heard.findings
    played = [note for note in findings.notes if note.offset_s is not None]
    figures = any(each.times >= HABITUAL for each in findings.mistakes)
    if not played or findings.timing == "free" or figures or any(off_the_beat(heard)):
        return
    sizes = [abs(away_s(findings, note) or 0.0) for note in played]
    window = median(note.window_s for note in played)
    if ROBUST * median(sizes) > UNEVEN * window / NORMAL_95:
        yield Trouble(
            f"It was a little uneven all through: take it slower, with the {_with(heard)}."
        )


def _with(heard: Heard) -> str:
    """Return what there is to play with that keeps time."""
    return "recording" if heard.findings.timing == "recording" else "click"


def _extras(heard: Heard) -> Iterator[Trouble]:
    places = extras_by_place(heard.findings, heard.passage)
    many = sum(places.values())
    if many:
        bars = tuple(sorted({bar for bar, _ in places}))
        words = several(many, heard.playing.noun)
        was = "was" if many == 1 else "were"
        yield Trouble(
            sentence(f"{words} too many {was} heard, in {few_bars_in_words(bars)}"), bars[:1]
        )


def _held(heard: Heard) -> Iterator[Trouble]:
    """Yield the first thing that was held otherwise than written; the table has the others."""
    for row in held_rows(heard)[:1]:
        yield Trouble(sentence(f"{row.place}: {row.what}"), (row.bar,))


_TROUBLES: tuple[Callable[[Heard], Iterator[Trouble]], ...] = (
    _all_shifted, _leapt, _entries, _figures, _missing, _running, _went_back, _off_beat, _off,
    _uneven, _extras, _held,
)  # fmt: skip


def _place(heard: Heard, here: list[Flag]) -> str:
    counts = listed([count_in_words(heard.passage, flag.bar, flag.count) for flag in here])
    return f"{bar_in_words(here[0].bar)}: {counts}"


def _was(here: list[Flag]) -> str:
    return "was" if len(here) == 1 else "were"


def _often(here: list[Flag]) -> str:
    """Return how often, where it was equally often at all the places."""
    often = {how_often(flag.which, flag.of) for flag in here}
    words = often.pop()
    return f", {words}" if words and not often else ""
