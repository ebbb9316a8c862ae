"""Places in playing order: which bar of the timeline, how far into it, and what that is called."""

from bisect import bisect_right
from dataclasses import dataclass
from fractions import Fraction

from rhythmtrain.prompts.plan import Layer, Prompt
from rhythmtrain.score.counts import count_name
from rhythmtrain.timing.timeline import PlayedBar, Timeline


@dataclass(frozen=True, slots=True)
class Spot:
    """One place of a played bar, ``into`` quarters after the bar's nominal start.

    ``place`` is the index of the bar in the timeline.
    """

    place: int
    played: PlayedBar
    into: Fraction

    @property
    def at(self) -> Fraction:
        """Return the place in quarters along the timeline."""
        return self.played.nominal + self.into

    @property
    def count(self) -> str:
        """Return the count said there, as tables write it: ``2&``."""
        return count_name(self.played.bar.metre, self.into)


def beats_of(place: int, played: PlayedBar) -> tuple[Spot, ...]:
    """Return the beats that lie inside a played bar."""
    bar = played.bar
    return tuple(
        Spot(place, played, beat.start)
        for beat in bar.metre.beats
        if bar.begins <= beat.start < bar.ends
    )


def spot_at(timeline: Timeline, at: Fraction) -> Spot:
    """Return the place ``at`` quarters along the timeline, which must lie inside it."""
    place = bisect_right(timeline.bars, at, key=lambda played: played.start) - 1
    played = timeline.bars[place]
    return Spot(place, played, at - played.nominal)


def prompt_at(timeline: Timeline, spot: Spot, layer: Layer, text: str) -> Prompt:
    """Return the prompt that sounds at ``spot``."""
    return Prompt(
        timeline.track_seconds(spot.at),
        layer,
        text,
        spot.played.bar.number,
        spot.count,
        spot.played.run,
    )
