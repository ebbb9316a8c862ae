"""A track that was made for the page: what it is of, and where the sound of each layer lies."""

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Plan
from rhythmtrain.rehearsal.desk.rounds.laid import Loop
from rhythmtrain.rehearsal.recorded.accompaniment import MappedRecording
from rhythmtrain.rehearsal.tracks.track import TrackWish
from rhythmtrain.timing.timeline import Timeline

# What a track is: as one asks for it, or one of several.
TRACK, STEP, TRY = "track", "step", "try"


@dataclass(frozen=True, slots=True)
class PageWish(TrackWish):
    """What track the page asks for, and what a microphone listens for while it sounds.

    ``over`` is clapped over and over; ``theirs`` is the accompanist's rhythm in place of one's own.
    """

    kind: str = "claps"
    over: bool = False
    theirs: bool = False


@dataclass(frozen=True, slots=True)
class Made:
    """A track that was made for the page: what it is of, and where each layer's sound lies.

    ``values`` are what it can be made of again; "made_as" in them says by which room, where it is not
    a track as one asks for it.  ``helped`` names what helps in it, where that is for the history.
    ``recording`` is the accompaniment that sounds in it, ``loop`` what of it comes round.
    """

    wish: PageWish
    values: Mapping[str, Any]
    timeline: Timeline
    plan: Plan
    stems: Mapping[str, Path]
    helped: str | None = None
    recording: MappedRecording | None = None
    loop: Loop | None = None

    @property
    def timing(self) -> str:
        """Return what keeps time in it."""
        return "recording" if self.plan.laid else "click"

    def gone(self) -> None:
        """Remove the sound of every layer: nobody wants the track any more."""
        for path in self.stems.values():
            path.unlink(missing_ok=True)

    def stem(self, layer: str) -> Path:
        """Return where the sound of a layer lies; RequestError where it does not sound."""
        if layer not in self.stems:
            raise RequestError(
                f"there is no {layer[:40]!r} in this track: it has {', '.join(self.stems)}"
            )
        return self.stems[layer]
