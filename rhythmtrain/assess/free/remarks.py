"""Plain sentences about a freely played take as a whole: tries, stops, what cannot be told."""

from collections.abc import Sequence

from rhythmtrain.assess.findings import FEW_NOTES, THIN_NOTES, EntryFinding, Try, Verdict
from rhythmtrain.assess.free.lines import Read
from rhythmtrain.timing.timeline import Timeline

NUMBERED = ("no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten")
FREE = "nothing kept time, so each note was held against its neighbours and not against a clock"


def remarks_on(timeline: Timeline, read: Read, tries: Sequence[Try], shown: int) -> tuple[str, ...]:
    """Return the sentences, without full stops, the most important first."""
    few = (FEW_NOTES,) if len(read.notes) < THIN_NOTES else ()
    return (*_tries(tries, shown), *_breaks(timeline, read), FREE, *few)


def why_not(entries: Sequence[EntryFinding]) -> tuple[str, ...]:
    """Return, for the entries that were not checked, why that could not be told."""
    said = (
        f"the entry in bar {entry.bar} was not checked: {entry.sentence}"
        for entry in entries
        if entry.verdict == Verdict.NOT_CHECKED and entry.sentence
    )
    return tuple(dict.fromkeys(said))


def _tries(tries: Sequence[Try], shown: int) -> tuple[str, ...]:
    if len(tries) == 1:
        return ()
    count = NUMBERED[len(tries)] if len(tries) < len(NUMBERED) else str(len(tries))
    told = tries[shown]
    which = f"this is about number {shown + 1}, bars {told.from_bar} to {told.to_bar}"
    return (f"{count} tries were heard; {which}",)


def _breaks(timeline: Timeline, read: Read) -> tuple[str, ...]:
    said = []
    for last, following in read.go.breaks:
        bars = [timeline.notes[read.own[rank]].note.bar for rank in (last, following)]
        word = "began again at" if following <= last else "went on in"
        said.append(f"stopped in bar {bars[0]}, {word} bar {bars[1]}")
    return tuple(said)
