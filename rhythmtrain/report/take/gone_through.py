"""How a take went through the passage: where it leapt, where it stopped, what was not played.

These are what a teacher hears first and a list of notes hides: whoever leaves a bar out has missed
no note in it, and whoever begins again after a slip has played every note in the end.
"""

import re
from collections.abc import Iterator
from statistics import median

from rhythmtrain.assess.findings import NoteFinding, Verdict
from rhythmtrain.report.take.flags import away_s
from rhythmtrain.report.take.praise import Heard
from rhythmtrain.report.words import bars_in_words, sentence
from rhythmtrain.score.passage import notes_of

LEAPT = re.compile(r"from bar (\d+) on everything came .+")
WENT_BACK = re.compile(r"stopped in bar (\d+), began again at bar (\d+)")
LOST = "lost"
FEWEST_OFF_THE_BEAT = 4
ROBUST = 1.4826
Said = tuple[str, tuple[int, ...]]


def leapt(heard: Heard) -> Iterator[Said]:
    """Yield from where on everything came beats or bars out, and the bars to practise."""
    bars = {bar.number for bar in heard.passage.bars}
    for found in filter(None, map(LEAPT.fullmatch, heard.findings.remarks)):
        bar = int(found[1])
        where = tuple(each for each in (bar - 1, bar) if each in bars)
        yield f"{sentence(found[0])} Count on aloud at the end of every bar, into the next.", where


def went_back(heard: Heard) -> Iterator[Said]:
    """Yield where the player stopped and began again, the first time."""
    found = next(filter(None, map(WENT_BACK.fullmatch, heard.findings.remarks)), None)
    if found is not None:
        where = f"You stopped in bar {found[1]} and began again at bar {found[2]}."
        yield f"{where} Take it slower, and go on whatever happens.", (int(found[1]),)


def off_the_beat(heard: Heard) -> Iterator[Said]:
    """Yield that all notes off the beat came early, or late, against those on it."""
    findings = heard.findings
    if findings.timing == "free" or findings.mistakes or findings.shift_beats:
        return
    played = [note for note in findings.notes if note.offset_s is not None]
    on, off = (
        [away_s(findings, note) or 0.0 for note in played if _on_beat(note) == wanted]
        for wanted in (True, False)
    )
    if min(len(on), len(off)) < FEWEST_OFF_THE_BEAT:
        return
    late_s = median(off) - median(on)
    narrow = max(_spread(on), _spread(off)) < abs(late_s) / 2
    if abs(late_s) > median(note.window_s for note in played) and narrow:
        side = "late" if late_s > 0 else "early"
        came = (
            f"The {heard.playing.noun}s off the beat came {side} all through, against those on it."
        )
        yield f"{came} Say all counts aloud, evenly, before you {heard.playing.verb}.", ()


def not_played(heard: Heard) -> tuple[int, ...]:
    """Return the bars before the first and after the last that was tried, none of a whole take."""
    findings, bars = heard.findings, heard.passage.bars
    shown = findings.tries[findings.shown] if findings.tries else None
    if shown is None or shown.complete or any(each.startswith(LOST) for each in findings.remarks):
        return ()
    numbers = list(dict.fromkeys(bars[note.index].number for note in notes_of(bars)))
    tried = {note.bar for note in findings.notes if note.verdict is not Verdict.NOT_CHECKED}
    places = [place for place, number in enumerate(numbers) if number in tried]
    if not places:
        return ()
    return (*numbers[: places[0]], *numbers[places[-1] + 1 :])


def not_played_in_words(heard: Heard, bars: tuple[int, ...]) -> str:
    """Return what to do about ``bars`` that were not played, at the beginning or at the end."""
    were = "was" if len(bars) == 1 else "were"
    gone = f"{bars_in_words(bars)} {were} not played."
    first = heard.passage.bars[0].number
    if first in bars and heard.passage.bars[-1].number not in bars:
        return f"Begin at the beginning: {gone}"
    return f"Go on to the end, whatever happens: {gone}"


def _on_beat(note: NoteFinding) -> bool:
    return note.count.isdigit()


def _spread(values: list[float]) -> float:
    middle = median(values)
    return ROBUST * median(abs(value - middle) for value in values)
