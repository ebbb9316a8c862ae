"""The recording that a passage is played with: opened, mapped, and checked to fit it.

It comes from the drill's ``[accompaniment]`` (or ``[model]``, the teacher's own playing), or from
options: a recording and the file with its beat map.  Nothing of its sound is read here but its
length.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from rhythmtrain.errors import RequestError, TakeError
from rhythmtrain.rehearsal.recorded.lengths import check_length_kept
from rhythmtrain.remedies import remedy
from rhythmtrain.report.take.commands import as_options
from rhythmtrain.score.drill.beside import Accompaniment
from rhythmtrain.score.drill.drill import Drill
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.beat_maps import load_beat_map
from rhythmtrain.storage.drills import beside, drill_path, load_drill
from rhythmtrain.storage.recordings import Recording, open_recording
from rhythmtrain.storage.scores import is_score
from rhythmtrain.timing.beatmap import BeatMap
from rhythmtrain.timing.recorded_bars import MappedPassage, held_bars, map_passage

# A length that a file tells of itself may be short by a codec's frame.
SHORT_BY_S = 0.1


@dataclass(frozen=True, slots=True)
class MappedRecording:
    """A recording with the passage laid on it; ``meet`` are bars where the two must meet."""

    recording: Recording
    mapped: MappedPassage
    meet: tuple[int, ...] = ()


@dataclass(frozen=True, slots=True)
class RecordingFiles:
    """A recording and its beat map, as files; None where nothing was said."""

    recording: Path | None = None
    beats: Path | None = None

    @property
    def as_typed(self) -> str:
        """Return the options that name the same recording and beat map again."""
        return as_options({"accompaniment": self.recording, "beats": self.beats})


NO_FILES = RecordingFiles()


def accompaniment_for(
    name: str,
    passage: Passage,
    *,
    whole: Passage | None = None,
    files: RecordingFiles = NO_FILES,
) -> MappedRecording:
    """Return the recorded accompaniment of ``passage``, which is (part of) the one called ``name``.

    ``files`` come before what the drill names; ``whole`` is the passage before bars were cut out.

    Raises:
        RequestError: there is none, no beat map of it, or the map does not cover the passage.
        FileError: a file is missing, no recording, or shorter than its map.
        TakeError: the beat map does not read.
    """
    drill = _drill(name)
    named = drill.accompaniment if drill is not None else None
    found = files_of(name, files)
    if found.recording is None:
        raise RequestError(_no_recording(name))
    meet = named.meet if named is not None else ()
    return _mapped(found.recording, found.beats, passage, whole, meet=meet)


def mapped_bars(name: str, whole: Passage, *, files: RecordingFiles = NO_FILES) -> tuple[int, int]:
    """Return the first and the last bar of ``whole``, as printed, that its accompaniment's map holds.

    ``whole`` is the passage called ``name``.

    Raises:
        RequestError: there is no accompaniment, no beat map of it, or one that holds no bar.
        FileError, TakeError: the map is missing or does not read.
    """
    found = files_of(name, files)
    if found.recording is None:
        raise RequestError(_no_recording(name))
    if found.beats is None:
        raise RequestError(_no_map(found.recording))
    with _naming(found.beats):
        return held_bars(whole, load_beat_map(found.beats))


def files_of(name: str, files: RecordingFiles = NO_FILES) -> RecordingFiles:
    """Return the accompaniment of the passage called ``name`` and its map, as files.

    ``files`` come before what the drill names: a map alone replaces the drill's, a recording alone
    has none.

    Raises:
        DrillError, FileError: the drill does not read.
    """
    if files.recording is not None:
        return files
    drill = _drill(name)
    named = drill.accompaniment if drill is not None else None
    known = _beside(name, named) if named is not None else NO_FILES
    return RecordingFiles(known.recording, files.beats or known.beats)


def model_for(name: str, passage: Passage, *, whole: Passage | None = None) -> MappedRecording:
    """Return the teacher's own playing of ``passage`` that the drill called ``name`` has.

    Raises:
        RequestError, FileError, TakeError: as for the accompaniment.
    """
    drill = _drill(name)
    if drill is None or drill.model is None:
        raise RequestError(
            f"{name} has no recording of the tune: name one in the drill under [model]"
        )
    path = drill_path(name)
    beats = None if drill.model.beats is None else beside(path, drill.model.beats)
    return _mapped(beside(path, drill.model.recording), beats, passage, whole)


def has_model(name: str) -> bool:
    """Tell whether the drill called ``name`` has the teacher's own playing beside it."""
    drill = _drill(name)
    return drill is not None and drill.model is not None


def has_accompaniment(name: str) -> bool:
    """Tell whether the drill called ``name`` names a recorded accompaniment."""
    drill = _drill(name)
    return drill is not None and drill.accompaniment is not None


def _no_recording(name: str) -> str:
    return f"{name} has no recorded accompaniment: {remedy('give-recording')}"


def _no_map(recording: Path, bars: str = "") -> str:
    name, stem = recording.name, recording.stem
    made = remedy("map-bars-of", name, bars, stem) if bars else remedy("map-all-of", name, stem)
    return f"nobody has said where the bars of {name} fall: {made}"


def _drill(name: str) -> Drill | None:
    """Return the drill called ``name``, or None where that is a score."""
    return None if is_score(name) else load_drill(name)


def _beside(name: str, named: Accompaniment) -> RecordingFiles:
    path = drill_path(name)
    names = (named.recording, named.beats)
    return RecordingFiles(*(None if each is None else beside(path, each) for each in names))


def _mapped(
    recording: Path,
    beats: Path | None,
    passage: Passage,
    whole: Passage | None,
    *,
    meet: tuple[int, ...] = (),
) -> MappedRecording:
    opened = open_recording(recording)
    if beats is None:
        asked = (whole or passage) if len(passage.bars) == 1 else passage
        bars = f"{asked.bars[0].number}-{asked.bars[-1].number}"
        raise RequestError(_no_map(recording, bars))
    beat_map = load_beat_map(beats)
    _check_length(opened, beat_map, beats)
    check_length_kept(opened, beats)
    with _naming(beats):
        mapped = map_passage(passage, beat_map, whole=whole)
    return MappedRecording(opened, mapped, meet)


@contextmanager
def _naming(beats: Path) -> Iterator[None]:
    """Name the file of the map in what is said of it."""
    try:
        yield
    except RequestError as error:
        raise RequestError(f"{beats.name}: {error}") from error


def _check_length(recording: Recording, beat_map: BeatMap, beats: Path) -> None:
    last = beat_map.beats[-1]
    length = recording.duration_s
    if length is not None and last.time_s > length + SHORT_BY_S:
        raise TakeError(
            f"{recording.path.name} lasts {length:.1f} s, but {beats.name} has beat {last.name} at "
            f"{last.time_s:.1f} s: is it the map of this recording?"
        )
