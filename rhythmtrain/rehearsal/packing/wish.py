"""What is to be packed: options as typed, and what of them cannot be meant."""

from dataclasses import dataclass
from pathlib import Path

from rhythmtrain.coach.ladder import ladder
from rhythmtrain.errors import RequestError
from rhythmtrain.hearing.beat_point import beat_point
from rhythmtrain.prompts.plan import Layer
from rhythmtrain.rehearsal.packing.tracks import PACK_LAYERS
from rhythmtrain.rehearsal.passages.passages import SLOWEST_SPEED, bar_range
from rhythmtrain.rehearsal.recorded.accompaniment import NO_FILES, RecordingFiles
from rhythmtrain.rehearsal.tracks.track import NOT_HEARD, layers_named
from rhythmtrain.remedies import option
from rhythmtrain.storage.audio_files import kind_of
from rhythmtrain.storage.sounds import sayable
from rhythmtrain.storage.word_files import OwnVoice


@dataclass(frozen=True, slots=True)
class PackWish:
    """What is to be packed: options as typed; ``passages`` are drills, files or folders."""

    passages: tuple[str, ...]
    bars: str | None = None
    part: str | None = None
    cue_part: str | None = None
    slowest: float = 0.5
    rungs: int | None = None
    ending: str = "mp3"
    language: str = "en"
    voice: Path | None = None
    layers: str | None = None
    accompaniment: Path | None = None
    beats: Path | None = None
    entry: bool = False
    entry_bar: int | None = None

    @property
    def files(self) -> RecordingFiles:
        """Return the recording and the beat map that were given, if any."""
        return RecordingFiles(self.accompaniment, self.beats)

    @property
    def is_course(self) -> bool:
        """Tell whether an entry is to be practised."""
        return self.entry or self.entry_bar is not None

    @property
    def heard(self) -> frozenset[Layer]:
        """Return the layers that are wished for."""
        return PACK_LAYERS if self.layers is None else layers_named(self.layers)


def check_pack(wish: PackWish) -> None:
    """Refuse what would go wrong in every passage alike.

    Raises:
        RequestError: options out of range, or that do not go together.
    """
    if not SLOWEST_SPEED <= wish.slowest <= 1:
        raise RequestError(
            f"the slowest tempo must be {SLOWEST_SPEED:g} to 1 times the written one, got "
            f"{wish.slowest:g}"
        )
    ladder(1.0, slowest=wish.slowest, rungs=wish.rungs)
    kind_of(Path(f"track.{wish.ending}"))
    if wish.bars is not None:
        bar_range(wish.bars)
    if wish.is_course and wish.layers is not None:
        raise RequestError(
            f"{option('layers')} is for a ladder: what sounds before an entry goes by the help"
        )
    if wish.files != NO_FILES:
        if not wish.is_course and Layer.ACCOMPANIMENT not in wish.heard:
            raise RequestError(NOT_HEARD)
        if len(wish.passages) > 1:
            raise RequestError(
                f"{option('accompaniment')} and {option('beats')} are of one passage: name each "
                "recording in its drill"
            )
    own = OwnVoice(wish.voice, beat_point) if wish.voice is not None else None
    sayable(wish.language, ("1",), voice=own)
