"""A passage as the stable JSON document of ``rhythmtrain show --json``.

Bars and notes are those written, each once, whatever is repeated; ``time_s`` runs from the start of
bar 1 at the written tempo, its changes and pauses included, along the written order.
"""

from dataclasses import replace
from fractions import Fraction
from typing import Any

from rhythmtrain.score.difficulty.hard import hard_spots
from rhythmtrain.score.entries import entries_of
from rhythmtrain.score.passage import Passage, notes_of
from rhythmtrain.timing.timeline import lay_out

Document = dict[str, Any]


def show_json(passage: Passage, *, british: bool = False) -> Document:
    """Return the document, ready for ``json.dumps``."""
    once = tuple(replace(bar, opens=False, times=0, ending=0) for bar in passage.bars)
    tempo = lay_out(replace(passage, bars=once)).tempo
    return {
        "title": passage.title,
        "metre": str(passage.metre),
        "tempo": _number(passage.tempo),
        "bars": len(passage.bars),
        "quarters": _number(sum((bar.length for bar in passage.bars), Fraction(0))),
        "notes": [
            {
                "bar": note.bar,
                "count": note.count,
                "onset": str(note.at),
                "length": str(note.length),
                "time_s": tempo.seconds(note.at),
                "accent": note.accent,
            }
            for note in notes_of(passage.bars)
        ],
        "entries": [
            {
                "bar": entry.bar,
                "count": entry.count,
                "rest_bars": entry.rest_bars,
                "rest_beats": _number(entry.rest_beats),
            }
            for entry in entries_of(passage)
        ],
        "hard": [
            {"bar": spot.bar, "score": spot.score, "why": list(spot.why)}
            for spot in hard_spots(passage, british=british)
        ],
    }


def _number(value: Fraction | float) -> int | float:
    """Return a whole value as an integer, any other as it is in full precision."""
    return int(value) if value == int(value) else float(value)
