"""What arrives of a take at the page: its beginning, what was played as it is played, its sound.

The page sends what happened and when by its own clocks, in parts; a part stays with the page until
it was taken here, so it may come twice.  Nothing is judged here.
"""

import json
from datetime import UTC, datetime
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.desk.asked import Asked
from rhythmtrain.rehearsal.desk.journal import SAMPLE, Journal
from rhythmtrain.rehearsal.desk.made_track import Made
from rhythmtrain.rehearsal.desk.sitting import Lately, Sitting

KEYS, MIDI, TOUCH, MIC = "keys", "midi", "touch", "mic"
SOURCES = (KEYS, MIDI, TOUCH, MIC)
KINDS = ("claps", "voice", "wind", "brass", "strings", "plucked")
MOST_PARTS, MOST_TAPS, MOST_READINGS = 5_000, 5_000, 5_000
Document = dict[str, Any]


def take_begun(sitting: Sitting, tracks: Lately[Made], asked: Asked) -> Document:
    """Begin a take with the track "track" and return its name.

    "source" is keys, midi, touch or mic; "start_s" the second of the audio context at which the
    track's first sample was to sound; "kind" what a microphone listens for; "levels" how loud each
    layer is at the start.

    Raises:
        RequestError: a value that is none of these, a track that is gone.
    """
    made = tracks.get(asked.text("track"))
    source, kind = asked.text("source"), asked.text("kind", "claps")
    if source not in SOURCES:
        raise RequestError(f"a take comes from {', '.join(SOURCES)}, got {source[:40]!r}")
    if kind not in KINDS or (kind != "claps" and source != MIC):
        raise RequestError(f"a microphone listens for {', '.join(KINDS)}, got {kind[:40]!r}")
    begun = {
        "begun": datetime.now(UTC).isoformat(),
        "track": asked.text("track"),
        "values": dict(made.values),
        "source": source,
        "kind": kind,
        "aloud": asked.truth("aloud", usual=source == MIC and kind == "claps"),
        "start_s": asked.number("start_s"),
        "levels": _levels(asked),
    }
    # Where the first program has ended, this one is it: whoever opens the page next leaves its takes.
    sitting.is_first()
    return {"take": sitting.journals.begin(begun)}


def take_went_on(sitting: Sitting, asked: Asked) -> Document:
    """Add what happened since the last time to the take "take": "parts", each with its number.

    In a part, "taps" are [second, what, released, velocity or null], "clock" [context second, page
    second], seconds of the page's own clocks, and "levels" [context second, layer, gain].

    Raises:
        RequestError: there is no such take, it is over, or a part is none.
    """
    parts = _parts(asked)
    for part in parts:
        sitting.journals.add(asked.text("take"), part)
    return {"parts": len(parts)}


def sound_came(sitting: Sitting, asked: Asked) -> Document:
    """Add the microphone's samples, from "frame" of the audio context on, to the take "take"."""
    sitting.journals.add_sound(asked.text("take"), asked.whole("frame"), asked.data)
    return {"bytes": len(asked.data)}


def last_came(sitting: Sitting, asked: Asked) -> Journal:
    """Add what came with the end of the take "take", and return its journal: it is over.

    The end may bring "parts".  Where it comes with bytes, it is the farewell of a page that closed
    before a microphone: these are a line of JSON with "parts" and "sound", rows of [frame, how many
    samples], and then the samples of every row.

    Raises:
        RequestError: there is no such take, it is over, or what came is none of this.
    """
    name = asked.text("take")
    told, samples = _farewell(asked.data) if asked.data else (asked, b"")
    parts, runs = _parts(told), [pair(row) for row in told.rows("sound", MOST_PARTS)]
    for part in parts:
        sitting.journals.add(name, part)
    for frame, many in runs:
        size = max(0, round(many)) * SAMPLE.itemsize
        sitting.journals.add_sound(name, round(frame), samples[:size])
        samples = samples[size:]
    return sitting.journals.end(name)


def _farewell(data: bytes) -> tuple[Asked, bytes]:
    """Return what the farewell of a page says, and the samples that follow."""
    line, _, samples = data.partition(b"\n")
    try:
        told = json.loads(line)
    except (ValueError, RecursionError):
        told = None
    if not isinstance(told, dict):
        raise RequestError("the page sent a farewell that is none: reload it")
    return Asked(told), samples


def _parts(asked: Asked) -> list[Document]:
    rows = asked.rows("parts", MOST_PARTS)
    return [_part(Asked(row if isinstance(row, dict) else {})) for row in rows]


def _part(asked: Asked) -> Document:
    return {
        "part": asked.whole("part"),
        "taps": [_tap(row) for row in asked.rows("taps", MOST_TAPS)],
        "clock": [pair(row) for row in asked.rows("clock", MOST_READINGS)],
        "levels": _levels(asked),
    }


def _levels(asked: Asked) -> list[list[Any]]:
    return [_level(row) for row in asked.rows("levels", MOST_TAPS)]


def _level(row: Any) -> list[Any]:
    if not _is_row(row, 3):
        raise RequestError(f"a level is [second, layer, gain], got {row!r:.60}")
    at_s, gain = pair([row[0], row[2]])
    return [at_s, str(row[1])[:20], gain]


def pair(row: Any) -> list[float]:
    """Return a row of two numbers that a page sent; RequestError where it is none."""
    values = Asked({"first": row[0], "second": row[1]} if _is_row(row, 2) else {})
    return [values.number("first"), values.number("second")]


def _tap(row: Any) -> list[Any]:
    if not _is_row(row, 4):
        raise RequestError(f"a tap is [second, what, released, velocity], got {row!r:.60}")
    values = Asked({"second": row[0], "what": row[1], "released": row[2], "velocity": row[3]})
    hard = None if row[3] is None else min(max(values.whole("velocity"), 1), 127)
    return [values.number("second"), values.text("what")[:20], values.truth("released"), hard]


def _is_row(row: Any, many: int) -> bool:
    return isinstance(row, list) and len(row) == many
