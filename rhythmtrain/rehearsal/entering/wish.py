"""Which entry is to be practised, and how: options as typed."""

from dataclasses import dataclass
from pathlib import Path

from rhythmtrain.coach.entry_course import MOST_TRIES
from rhythmtrain.errors import RequestError
from rhythmtrain.rehearsal.live.rigs import MIC, TapsFrom, as_typed, taps_from
from rhythmtrain.rehearsal.passages.passages import Wish
from rhythmtrain.rehearsal.recorded.accompaniment import RecordingFiles
from rhythmtrain.remedies import option
from rhythmtrain.report.take.commands import as_options


@dataclass(frozen=True, slots=True)
class EnterWish(Wish):
    """Which entry is to be practised, and how: options as typed."""

    count_in: int = 1
    entry: int | None = None
    tries: int = MOST_TRIES
    seed: int | None = None
    source: str = "keys"
    loudspeaker: str | None = None
    kind: str = "claps"
    language: str = "en"
    voice: Path | None = None
    dry_run: bool = False
    layers: str | None = None
    accompaniment: Path | None = None
    beats: Path | None = None

    @property
    def files(self) -> RecordingFiles:
        """Return the recording and the beat map that were given, if any."""
        return RecordingFiles(self.accompaniment, self.beats)

    @property
    def heard_so(self) -> str:
        """Return the options by which the next tries are heard, and sound, as these."""
        live = as_typed(self.source, self.kind, self.loudspeaker) + self.files.as_typed
        return live + as_options({"layers": self.layers})


def checked_source(wish: EnterWish) -> TapsFrom:
    """Return what is listened to.

    Raises:
        RequestError: nothing that there is, or options that do not go together.
    """
    wanted = taps_from(wish.source)
    if wish.kind != "claps" and wanted.kind != MIC:
        raise RequestError(
            f"{option('as', wish.kind)} is for the microphone: add {option('from', 'mic')}"
        )
    return wanted
