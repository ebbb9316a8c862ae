"""The verdict on every entry, as the class alone, with the rest in a sentence."""

from rhythmtrain.assess.entries import Came
from rhythmtrain.assess.entry_words import class_words
from rhythmtrain.assess.findings import EntryFinding, Verdict
from rhythmtrain.assess.judging.judging import Judging
from rhythmtrain.assess.wrong_cue import SameCue, same_cues

NOT_TOLD = "not checked"
MISSED = "missed"
DRIFTED = "drifted"
HALF_BEAT, HALF_NEAR = 0.5, 0.15
CUE_NEAR = 0.01


def entry_lines(judging: Judging) -> tuple[EntryFinding, ...]:
    """Return a finding for every entry of the timeline, as played."""
    came = dict(judging.rendition.came)
    cues = same_cues(judging.timeline)
    rank = {int(index): number for number, index in enumerate(judging.written.index)}
    lines = []
    for entry in judging.timeline.entries:
        note = judging.timeline.notes[entry.note]
        number = rank[entry.note]
        late, verdict, sentence = _verdict(judging, number, came.get(number))
        lines.append(
            EntryFinding(
                note.note.bar,
                note.note.count,
                note.repeat,
                entry.entry.rest_bars,
                float(entry.entry.rest_beats),
                late,
                None if late is None else judging.written.beats_late(number, late),
                verdict,
                sentence,
                _wrong_cue(came.get(number), cues.get(entry.note, ())),
            )
        )
    return tuple(lines)


def _wrong_cue(came: Came | None, cues: tuple[SameCue, ...]) -> int | None:
    """Return the bar of the cue that was taken for the right one, or None."""
    if came is None or not came.heard or not came.beats:
        return None
    return next((cue.bar for cue in cues if abs(cue.beats - came.beats) < CUE_NEAR), None)


def _verdict(judging: Judging, number: int, came: Came | None) -> tuple[float | None, str, str]:
    """Return (offset in seconds, class, sentence) of one entry."""
    verdict = judging.judged.verdict[number]
    if came is None or verdict is Verdict.NOT_CHECKED:
        return None, NOT_TOLD, ""
    if not came.heard or verdict is Verdict.MISSED:
        return None, MISSED, ""
    late = float(judging.offsets_s[number])
    beat = float(judging.written.beat_s[number])
    away = float(judging.judged.away_s[number])
    if came.beats is None:
        far = abs(judging.written.beats_late(number, late))
        beats = f"about {far:.1f} beats {_side(late)}: the count drifted"
        return late, DRIFTED, beats
    if came.beats:
        words = class_words(came.beats, float(judging.written.bar_s[number]) / beat)
        return late, words, _and(words, away, float(judging.judged.window_s[number]))
    if abs(abs(away) / beat - HALF_BEAT) < HALF_NEAR:
        words = f"half a beat {_side(away)}"
        return late, words, words
    return late, str(verdict), ""


def _and(words: str, away_s: float, window_s: float) -> str:
    """Return the class with what lies beside it, where that is worth a word."""
    if abs(away_s) <= window_s:
        return words
    return f"{words}, and {abs(away_s) * 1000:.0f} ms {_side(away_s)}"


def _side(late_s: float) -> str:
    return "late" if late_s > 0 else "early"
