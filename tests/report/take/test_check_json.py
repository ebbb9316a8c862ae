"""The JSON of a take: its keys, in order, for good; numbers in milliseconds; never a NaN."""

import json
import math
from dataclasses import replace
from typing import Any

from rhythmtrain.assess.findings import Extra, Findings, Mistake
from rhythmtrain.report.take.document import check_json
from tests.simulate.heard import Amiss, heard_of, passage_of

ENTRY = passage_of("1 & 2 | rest 4 | (1) & 2 & | 1 2", tempo=72)
KEYS = [
    "passage", "metre", "tempo", "speed", "timing", "take", "looks_like_the_passage", "start",
    "start_s", "tries", "try", "shift", "tally", "offset_ms", "drift_percent", "uncertainty_ms",
    "notes", "extras", "mistakes", "entries", "bars", "advice", "remarks", "lengths", "clapped_instead",
]  # fmt: skip
INNER = {
    "notes": ["bar", "count", "repeat", "expected_s", "played_s", "offset_ms", "verdict", "plain"],
    "extras": ["time_s", "bar", "count"],
    "mistakes": ["bar", "count", "what", "notes", "times", "of"],
    "entries": [
        "bar", "count", "repeat", "rest_bars", "rest_beats", "offset_ms", "offset_beats", "verdict", "wrong_cue",
    ],
    "bars": ["bar", "matched", "missed", "extra", "median_offset_ms", "sd_ms"],
    "tries": ["from_bar", "to_bar", "start_s", "complete"],
}  # fmt: skip
AMISS = Amiss(
    {(1, "2", 1): 0.0801234},
    missed=frozenset({(7, "1", 1)}),
    extras=(Extra(3.25, 1, "1&"),),
    mistakes=(Mistake(1, "1&", "even played dotted", (0, 1), 1, 1),),
    came={(6, "1&", 1): "one beat early"},
)


def _document(findings: Findings) -> dict[str, Any]:
    return check_json(
        findings, ENTRY, source="midi", onsets_s=(2.0, 2.5), advice=("Count.", "Then play.")
    )


def test_the_keys_stay_as_they_are() -> None:
    """Programs of others read them: the ones promised, then those that came later."""
    document = _document(heard_of(ENTRY, AMISS)[0].findings)
    assert list(document) == KEYS
    for name, keys in INNER.items():
        assert document[name]
        assert all(list(item) == keys for item in document[name])
    assert list(document["tally"]) == ["expected", "matched", "missed", "extra", "not_checked"]
    assert list(document["offset_ms"]) == ["median", "mean", "sd", "low", "high"]
    assert document["take"] == {"source": "midi", "onsets": [2.0, 2.5]}


def test_numbers_keep_their_precision_and_verdicts_their_words() -> None:
    """Raw offsets in milliseconds, null for what was not played."""
    document = _document(heard_of(ENTRY, AMISS)[0].findings)
    late = next(note for note in document["notes"] if note["count"] == "2" and note["bar"] == 1)
    assert (late["offset_ms"], late["verdict"], late["plain"]) == (1000 * 0.0801234, "late", True)
    gone = next(note for note in document["notes"] if note["bar"] == 7)
    assert (gone["played_s"], gone["offset_ms"], gone["verdict"]) == (None, None, "missed")
    assert document["entries"][0]["verdict"] == "one beat early"
    assert document["mistakes"][0]["notes"] == [0, 1]
    assert document["shift"] is None
    assert (document["metre"], document["tempo"], document["try"]) == ("2/4", 72, 0)
    assert document["advice"] == ["Count.", "Then play."]


def test_a_shift_is_given_in_beats() -> None:
    """Everything a beat late."""
    findings = replace(heard_of(ENTRY)[0].findings, shift_beats=1.0)
    assert _document(findings)["shift"] == {"beats": 1.0}


def test_what_is_no_number_is_null() -> None:
    """JSON has no NaN, and a reader in another language would stop at it."""
    findings = heard_of(ENTRY, AMISS)[0].findings
    assert findings.spread is not None
    odd = replace(
        findings,
        drift_percent=math.nan,
        spread=replace(findings.spread, sd_s=math.nan),
        entries=tuple(replace(entry, offset_beats=math.inf) for entry in findings.entries),
    )
    document = json.loads(json.dumps(_document(odd), allow_nan=False))
    assert document["drift_percent"] is None
    assert document["offset_ms"]["sd"] is None
    assert document["entries"][0]["offset_beats"] is None
    none = _document(replace(findings, spread=None, drift_percent=None))
    assert set(none["offset_ms"].values()) == {None}
