"""Keeping a take that was heard in the history, and judging a kept one by today's rules."""

from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from rhythmtrain.assess.settings import Settings
from rhythmtrain.capture.take import Take
from rhythmtrain.errors import DrillError, FileError
from rhythmtrain.rehearsal.checking.checked import Asked, Checked, document, judged
from rhythmtrain.rehearsal.passages.known_names import known_as
from rhythmtrain.rehearsal.passages.passages import Wish
from rhythmtrain.remedies import remedy
from rhythmtrain.score.countline.short_bars import (
    CutShort,
    cut_short,
    in_sayable_bars,
    put_back,
)
from rhythmtrain.score.drill.drill import read_drill
from rhythmtrain.score.drill.writer import write_drill
from rhythmtrain.score.passage import Bar, Passage
from rhythmtrain.storage.history.history import Conditions, KeptTake, TakeRecord, open_history
from rhythmtrain.storage.history.take_record import Laid
from rhythmtrain.timing.tempomap import through
from rhythmtrain.timing.timeline import Timeline, lay_out

__all__ = ["judged_again", "keep_checked", "kept_in_words", "known_as", "passage_of", "record_of"]

GIVEN, RECORDING = "given", "recording"
Say = Callable[[str], None]


def keep_checked(
    checked: Checked, wish: Wish, *, now: datetime, helped: str | None = None, say: Say
) -> int:
    """Keep a take that was heard, and return its number in the history.

    ``now`` is when it was played, with the player's time zone; ``helped`` names what helped the
    player.  ``say`` is given a sentence where the history was damaged and had to be mended.

    Raises:
        FileError: the history cannot be written to; nothing of the take is kept.
    """
    record = record_of(checked, wish, now=now, helped=helped)
    with open_history(say=say) as history:
        return history.keep(record)


def kept_in_words(number: int) -> str:
    """Return what a person reads of a take that was kept."""
    return f"Kept in your history as take {number}."


def record_of(
    checked: Checked, wish: Wish, *, now: datetime, helped: str | None = None
) -> TakeRecord:
    """Return what the history keeps of a take that was heard."""
    findings, take, timeline = checked.findings, checked.take, checked.timeline
    return TakeRecord(
        known_as(wish.passage),
        timeline.passage.title,
        wish.bars,
        findings.speed,
        timeline.practice.repeats,
        findings.timing,
        take.source,
        getattr(wish, "kind", "claps"),
        now,
        take.heard,
        take.duration_s,
        document(checked),
        helped,
        _drill_text(timeline.passage),
        _conditions(checked),
        take.hidden_s,
    )


def judged_again(kept: KeptTake) -> Checked:
    """Return a kept take held by today's rules against the passage as it was then.

    Raises:
        FileError: it was kept without its passage, or, by an older version, without the beats of
            the recording it was played with.
    """
    record, conditions = kept.record, kept.record.conditions
    recorded = record.timing == RECORDING
    if recorded and not conditions.anchors:
        raise FileError(
            f"take {kept.id} was played with a recording whose beats were not kept then: "
            f"{remedy('check-with-recording')} (what was heard then still stands)"
        )
    passage = passage_of(kept)
    timeline = lay_out(passage, conditions.practice)
    if recorded:
        tempo = through(conditions.anchors)
        timeline = replace(timeline, tempo=tempo, doubts=conditions.doubts)
    timeline = replace(_reached(timeline, conditions.reached), strokes=conditions.strokes)
    settings = Settings(
        timing=record.timing,
        start_s=conditions.start_s,
        speed=conditions.practice.speed if conditions.speed_known else None,
        meet=conditions.meet,
        one_go=conditions.one_go,
    )
    take = Take(record.source, f"take {kept.id}", record.onsets, record.duration_s, record.hidden_s)
    asked = Asked(
        Path(record.passage_name).stem,
        record.bars,
        record.instrument,
        delay_known=conditions.delay_known,
        stopped=conditions.stopped,
    )
    return judged(timeline, take, settings, asked)


def _conditions(checked: Checked) -> Conditions:
    findings, timeline = checked.findings, checked.timeline
    whole = lay_out(timeline.passage, timeline.practice)
    reached = len(timeline.notes)
    tries = findings.tries
    return Conditions(
        timeline.practice,
        start_s=findings.start_s if findings.start == GIVEN else None,
        speed_known=not findings.tempo_found,
        delay_known=checked.heard.playing.delay_known,
        stopped=reached < len(whole.notes) and not any(each.complete for each in tries),
        reached=reached if reached < len(whole.notes) else None,
        bar_numbers=tuple(bar.number for bar in timeline.passage.bars),
        anchors=_anchors(timeline) if findings.timing == RECORDING else (),
        doubts=timeline.doubts,
        meet=checked.meet,
        one_go=checked.one_go,
        strokes=timeline.strokes,
        cut_short=_cut_short(timeline.passage),
    )


def _anchors(timeline: Timeline) -> Laid:
    """Return each place of the timeline's tempo map with its second, at the speed it was laid at."""
    stretches = timeline.tempo.stretches
    places = [*(stretch.start for stretch in stretches), stretches[-1].stop]
    return tuple((at, float(timeline.seconds(at))) for at in places)


def _drill_text(passage: Passage) -> str:
    """Return the passage as drill text, empty where a count line cannot say it."""
    try:
        return write_drill(passage)
    except DrillError:
        return ""


def _cut_short(passage: Passage) -> tuple[CutShort, ...]:
    """Return the bars that stand in the drill text in a metre of their own."""
    try:
        return cut_short(passage, in_sayable_bars(passage))
    except DrillError:
        return ()


def passage_of(kept: KeptTake) -> Passage:
    """Return the passage of a kept take, its bars numbered as they were printed."""
    record = kept.record
    passage = read_drill(record.drill, name=f"take {kept.id}").passage if record.drill else None
    numbers = record.conditions.bar_numbers
    if passage is None or len(numbers) != len(passage.bars):
        raise FileError(
            f"take {kept.id} was kept without its passage and cannot be judged again: "
            "what was heard then still stands"
        )
    shift = numbers[0] - passage.bars[0].number
    passage = put_back(passage, record.conditions.cut_short)
    return replace(
        passage,
        bars=_numbered(passage.bars, numbers),
        cue=_numbered(passage.cue, numbers) if passage.cue else (),
        marks=tuple(replace(mark, bar=mark.bar + shift) for mark in passage.marks),
    )


def _numbered(bars: tuple[Bar, ...], numbers: tuple[int, ...]) -> tuple[Bar, ...]:
    return tuple(replace(bar, number=number) for bar, number in zip(bars, numbers, strict=True))


def _reached(timeline: Timeline, notes: int | None) -> Timeline:
    """Return the timeline as far as the player went."""
    if notes is None:
        return timeline
    entries = tuple(each for each in timeline.entries if each.note < notes)
    return replace(timeline, notes=timeline.notes[:notes], entries=entries)
