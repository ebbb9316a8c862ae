"""Which bars are entered with a note sounding, and every beat of a bar named.

A place that is not counted carries on what was before it.  So that a passage has one form, every
beat of a bar that has counts becomes a counted place: held where a note goes on, silent elsewhere.
A bar of rest, without any counts, stays one.

Repeats make a bar follow several others.  A beat is held when a note can sound into it on any of
the ways in; where none does on another way, a held place says nothing and changes nothing.
"""

from dataclasses import replace

from rhythmtrain.score.passage import Bar, Kind, Place
from rhythmtrain.score.repeats import as_played


def sounding_into(bars: tuple[Bar, ...]) -> tuple[bool, ...]:
    """Return for each bar whether, any time it is played, a note sounds on into it."""
    ever = [False] * len(bars)
    leaves = [_leaves(bar) for bar in bars]
    sounding = False
    for index in as_played(bars):
        ever[index] = ever[index] or sounding
        leaving = leaves[index]
        sounding = sounding if leaving is None else leaving
    return tuple(ever)


def every_beat_named(bars: tuple[Bar, ...]) -> tuple[Bar, ...]:
    """Return ``bars`` with a counted place on every beat of every bar that has places."""
    return tuple(
        replace(bar, places=_named(bar, sounding=sounding)) if bar.places else bar
        for bar, sounding in zip(bars, sounding_into(bars), strict=True)
    )


def _leaves(bar: Bar) -> bool | None:
    """Return whether a note sounds on out of ``bar``, or None when it leaves all as it was."""
    if not bar.places:
        return False
    turns = [place.kind for place in bar.places if place.kind is not Kind.HELD]
    return turns[-1] is Kind.PLAYED if turns else None


def _named(bar: Bar, *, sounding: bool) -> tuple[Place, ...]:
    written = {place.at: place for place in bar.places}
    beats = {beat.start for beat in bar.metre.beats if bar.begins <= beat.start < bar.ends}
    places = []
    for at in sorted(beats | written.keys()):
        place = written.get(at) or Place(at, Kind.HELD if sounding else Kind.SILENT)
        if place.kind is not Kind.HELD:
            sounding = place.kind is Kind.PLAYED
        places.append(place)
    return tuple(places)
