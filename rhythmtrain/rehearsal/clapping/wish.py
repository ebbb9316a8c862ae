"""What is to be clapped along with, and how it is heard: options as typed, checked together."""

from dataclasses import dataclass
from pathlib import Path

from rhythmtrain.errors import RequestError
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.live.rigs import MIC, TapsFrom, as_typed, taps_from
from rhythmtrain.rehearsal.recorded.accompaniment import NO_FILES
from rhythmtrain.rehearsal.tracks.track import NOT_HEARD, TrackWish, layers_named
from rhythmtrain.remedies import option
from rhythmtrain.report.take.commands import as_options
from rhythmtrain.storage.safely import check_place

USUAL_LEAD_IN = 2


@dataclass(frozen=True, slots=True)
class ClapWish(TrackWish):
    """What is to be clapped along with, and how it is heard: options as typed."""

    source: str = "keys"
    loudspeaker: str | None = None
    kind: str = "claps"
    loop: bool = False
    aloud: bool | None = None
    cue: bool = False
    report: Path | None = None
    dry_run: bool = False

    @property
    def recorded(self) -> bool:
        """Return whether the recorded accompaniment sounds."""
        return Layer.ACCOMPANIMENT in layers_named(self.layers)

    @property
    def heard_so(self) -> str:
        """Return the options by which the next take is heard, and sounds, as this one."""
        live = as_typed(self.source, self.kind, self.loudspeaker)
        if not self.recorded:
            return live
        lead_in = self.lead_in if self.lead_in != USUAL_LEAD_IN else None
        beside = as_options({"steady": self.steady, "lead-in": lead_in})
        return f"{live}{as_options({'layers': self.layers})}{self.files.as_typed}{beside}"


def checked_source(wish: ClapWish) -> TapsFrom:
    """Return what is listened to, once all options are known to go together."""
    wanted = taps_from(wish.source)
    if wish.kind != "claps" and wanted.kind != MIC:
        raise RequestError(
            f"{option('as', wish.kind)} is for the microphone: add {option('from', 'mic')}"
        )
    if wish.loop and (wish.fade or wish.repeats != 1):
        raise RequestError(
            f"{option('loop')} goes on until you stop: leave out {option('fade')} and "
            f"{option('repeats')}"
        )
    if wish.recorded and wish.loop and wish.lead_in < 1:
        raise RequestError(
            f"in a loop bars of the recording come between: give {option('lead-in', 1)} or more"
        )
    if not wish.recorded and (wish.steady or wish.files != NO_FILES):
        raise RequestError(NOT_HEARD)
    if wish.report is not None:
        if wish.report.suffix.lower() not in (".html", ".htm"):
            raise RequestError(f"the report is a page: name it like heard.html, not {wish.report}")
        check_place(wish.report)
    return wanted
