"""The two rows of a bar on the live screen: its counts, and under them a mark for every clap.

A place stands as far along its row as it lies in its bar.  Beats stand first, finer places only
where there is room.
"""

from collections.abc import Sequence
from fractions import Fraction

from rhythmtrain.score.counts import beat_at, inside_beat
from rhythmtrain.score.metre import Metre
from rhythmtrain.score.passage import Kind
from rhythmtrain.timing.timeline import PlayedBar

CLAP = "^"
SIGNS = {Kind.PLAYED: ("", ""), Kind.SILENT: ("(", ")"), Kind.HELD: ("[", "]")}
SHORTER = {"lata": "ta", "lita": "ta"}


def counts_row(played: PlayedBar, wide: int, *, rest: int | None = None) -> str:
    """Return the counts of a bar in ``wide`` columns, each where it lies.

    ``rest`` is the number of a bar of rest, which stands for its first count.
    """
    row = [" "] * wide
    for into, text in _texts(played, rest):
        at = round(float((into - played.bar.begins) / played.bar.length) * wide)
        free = at + len(text) <= wide and set(row[max(at - 1, 0) : at + len(text) + 1]) == {" "}
        if free:
            row[at : at + len(text)] = text
    return "".join(row)


def claps_row(played: PlayedBar, wide: int, quarters: Sequence[float]) -> str:
    """Return a mark in ``wide`` columns for every clap, which fell in the bar at ``quarters``."""
    row = [" "] * wide
    for at in quarters:
        share = (at - float(played.start)) / float(played.bar.length)
        row[min(max(round(share * wide), 0), wide - 1)] = CLAP
    return "".join(row)


def _texts(played: PlayedBar, rest: int | None) -> list[tuple[Fraction, str]]:
    """Return (quarters into the bar, text) of all that is counted: beats first, then finer places.

    ``rest`` is the number of a bar of rest, which stands for its first count.
    """
    bar = played.bar
    kinds = {place.at: place.kind for place in bar.places}
    inside = bar.places != () or played.index is None
    beats = [beat.start for beat in bar.metre.beats if bar.begins <= beat.start < bar.ends]
    finer = [at for at in kinds if at not in beats]
    found = []
    for at in [*beats, *finer]:
        unsaid = Kind.PLAYED if played.index is None else Kind.HELD if inside else Kind.SILENT
        before, after = SIGNS[kinds.get(at, unsaid)]
        name = str(rest) if rest is not None and not at else _short(bar.metre, at)
        found.append((at, f"{before}{name}{after}"))
    return found


def _short(metre: Metre, at: Fraction) -> str:
    """Return a count as it stands in a row of counts: "2", "&"."""
    index = beat_at(metre, at)
    beat = metre.beats[index]
    name = inside_beat(beat, (at - beat.start) / beat.length)
    return SHORTER.get(name, name) or str(index + 1)
