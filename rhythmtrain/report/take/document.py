"""What was heard in a take, as the stable JSON document of ``rhythmtrain check --json``.

Milliseconds exist only here and in what people read.  Numbers keep full precision; there is never
a NaN: what is not known is null.
"""

import math
from typing import Any

from rhythmtrain.assess.clapped_rows import Instead
from rhythmtrain.assess.findings import (
    BarFinding,
    EntryFinding,
    Extra,
    Findings,
    Mistake,
    NoteFinding,
    Spread,
    Try,
)
from rhythmtrain.assess.held_as import LengthFinding
from rhythmtrain.score.passage import Passage

Document = dict[str, Any]


def check_json(
    findings: Findings,
    passage: Passage,
    *,
    source: str,
    onsets_s: tuple[float, ...],
    advice: tuple[str, ...],
) -> Document:
    """Return the document; ``source`` and ``onsets_s`` are the take's."""
    return {
        "passage": passage.title,
        "metre": str(passage.metre),
        "tempo": passage.tempo,
        "speed": findings.speed,
        "timing": findings.timing,
        "take": {"source": source, "onsets": list(onsets_s)},
        "looks_like_the_passage": findings.looks_like,
        "start": findings.start,
        "start_s": findings.start_s,
        "tries": [_try(each) for each in findings.tries],
        "try": findings.shown,
        "shift": None if findings.shift_beats is None else {"beats": findings.shift_beats},
        "tally": {
            "expected": findings.tally.expected,
            "matched": findings.tally.matched,
            "missed": findings.tally.missed,
            "extra": findings.tally.extra,
            "not_checked": findings.tally.not_checked,
        },
        "offset_ms": _spread(findings.spread),
        "drift_percent": _known(findings.drift_percent),
        "uncertainty_ms": _ms(findings.uncertainty_s),
        "notes": [_note(note) for note in findings.notes],
        "extras": [_extra(extra) for extra in findings.extras],
        "mistakes": [_mistake(mistake) for mistake in findings.mistakes],
        "entries": [_entry(entry) for entry in findings.entries],
        "bars": [_bar(bar) for bar in findings.bars],
        "advice": list(advice),
        "remarks": list(findings.remarks),
        "lengths": [_length(length) for length in findings.lengths],
        "clapped_instead": None if findings.instead is None else _instead(findings.instead),
    }


def _ms(seconds: float | None) -> float | None:
    return None if seconds is None else _known(1000.0 * seconds)


def _known(value: float | None) -> float | None:
    """Return ``value``, or None where it is no number."""
    return value if value is not None and math.isfinite(value) else None


def _spread(spread: Spread | None) -> Document:
    if spread is None:
        return dict.fromkeys(("median", "mean", "sd", "low", "high"))
    return {
        "median": _ms(spread.median_s),
        "mean": _ms(spread.mean_s),
        "sd": _ms(spread.sd_s),
        "low": _ms(spread.low_s),
        "high": _ms(spread.high_s),
    }


def _try(each: Try) -> Document:
    return {
        "from_bar": each.from_bar,
        "to_bar": each.to_bar,
        "start_s": each.start_s,
        "complete": each.complete,
    }


def _note(note: NoteFinding) -> Document:
    met: Document = {"meets": True} if note.meets else {}
    return {
        "bar": note.bar,
        "count": note.count,
        "repeat": note.repeat,
        "expected_s": note.expected_s,
        "played_s": note.played_s,
        "offset_ms": _ms(note.offset_s),
        "verdict": note.verdict.value,
        "plain": note.plain,
        **met,
    }


def _extra(extra: Extra) -> Document:
    return {"time_s": extra.time_s, "bar": extra.bar, "count": extra.count}


def _mistake(mistake: Mistake) -> Document:
    return {
        "bar": mistake.bar,
        "count": mistake.count,
        "what": mistake.what,
        "notes": list(mistake.notes),
        "times": mistake.times,
        "of": mistake.of,
    }


def _entry(entry: EntryFinding) -> Document:
    return {
        "bar": entry.bar,
        "count": entry.count,
        "repeat": entry.repeat,
        "rest_bars": entry.rest_bars,
        "rest_beats": entry.rest_beats,
        "offset_ms": _ms(entry.offset_s),
        "offset_beats": _known(entry.offset_beats),
        "verdict": entry.verdict,
        "wrong_cue": None if entry.wrong_cue is None else {"bar": entry.wrong_cue},
    }


def _instead(instead: Instead) -> Document:
    return {
        "what": instead.row.value,
        "speed": instead.speed,
        "spread_ms": _ms(instead.spread_s),
        "bars": list(instead.bars),
        "sure": instead.sure,
    }


def _length(length: LengthFinding) -> Document:
    return {
        "bar": length.bar,
        "count": length.count,
        "repeat": length.repeat,
        "written_beats": length.written_beats,
        "held_beats": length.held_beats,
        "before_rest": length.before_rest,
        "verdict": length.verdict.value,
    }


def _bar(bar: BarFinding) -> Document:
    return {
        "bar": bar.bar,
        "matched": bar.matched,
        "missed": bar.missed,
        "extra": bar.extra,
        "median_offset_ms": _ms(bar.median_offset_s),
        "sd_ms": _ms(bar.sd_s),
    }
