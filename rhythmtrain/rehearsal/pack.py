"""Packing: whole folders of drills as tracks, MIDI and one page, for a teacher to hand out.

Everything is made out of sight inside the folder and brought to its place when all of it is there,
so a stopped pack leaves an older one as it was.  What fails in one passage stops no other.
"""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

from rhythmtrain.coach.ladder import ladder
from rhythmtrain.errors import RequestError, RhythmtrainError
from rhythmtrain.hearing.beat_point import beat_point
from rhythmtrain.prompts.plan import Layer, Plan
from rhythmtrain.prompts.tempo_words import tempo_words
from rhythmtrain.rehearsal.accompaniment import NO_FILES, RecordingFiles
from rhythmtrain.rehearsal.both_cores import on_all_cores
from rhythmtrain.rehearsal.pack_recorded import (
    NOT_BESIDE,
    RECORDED,
    Beside,
    at_recorded_tempo,
    recorded_track,
)
from rhythmtrain.rehearsal.pack_tracks import PACK_LAYERS, PackTrack, pack_plan, pack_tracks
from rhythmtrain.rehearsal.passages import (
    SLOWEST_SPEED,
    bar_range,
    find_passage,
    whole_passage,
)
from rhythmtrain.rehearsal.told import Progress, Told, quietly
from rhythmtrain.rehearsal.track import (
    Quality,
    TrackWish,
    layers_named,
    write_recorded,
    write_track,
)
from rhythmtrain.render.recorded import Played
from rhythmtrain.report.pack_page import PackedPassage, PackedTrack, pack_page
from rhythmtrain.report.pack_text import (
    clash_words,
    failed_words,
    made_text,
    size_words,
    value_words,
)
from rhythmtrain.score.passage import Passage
from rhythmtrain.storage.audio_files import kind_of
from rhythmtrain.storage.drills import drills_at
from rhythmtrain.storage.folders import brought_in, distinct, made_folder, out_of_sight, safe_name
from rhythmtrain.storage.safely import told_plainly, write_bytes_safely
from rhythmtrain.storage.scores import is_score
from rhythmtrain.storage.sounds import sayable
from rhythmtrain.storage.word_files import OwnVoice
from rhythmtrain.units import Bpm

PAGE = "index.html"
# Small enough to send: one channel, at the rate of the spoken words.  A clap keeps its place and its
# sharp beginning (measured on MP3, see tests/rehearsal/test_pack.py).
HANDED_OUT = Quality(rate=24_000, channels=1)


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

    @property
    def files(self) -> RecordingFiles:
        """Return the recording and the beat map that were given, if any."""
        return RecordingFiles(self.accompaniment, self.beats)

    @property
    def heard(self) -> frozenset[Layer]:
        """Return the layers that are wished for."""
        return PACK_LAYERS if self.layers is None else layers_named(self.layers)


@dataclass(frozen=True, slots=True)
class Parcel:
    """One passage to pack: where it came from, the folder it gets, its ladder and files."""

    source: str
    passage: Passage
    folder: str
    tempi: tuple[Bpm, ...]
    tracks: tuple[PackTrack, ...]
    beside: Beside | None = None


@dataclass(frozen=True, slots=True)
class TrackJob:
    """One file for another process to write."""

    passage: Passage
    track: PackTrack
    output: Path
    wish: PackWish
    beside: Beside | None = None


Failed = dict[str, str]


def make_pack(wish: PackWish, into: Path, *, progress: Progress = quietly) -> Told:
    """Write a pack of the passages into the folder ``into`` and return what is in it.

    What could not be made is in the document's ``failed``.

    Raises:
        RequestError: options out of range.
        FileError: the folder cannot be written into.
        RhythmtrainError: what is wrong with the passage, where only one was asked for.
    """
    _check(wish)
    failed: Failed = {}
    sources = _sources(wish, failed)
    parcels, warnings = _parcels(sources, wish, failed)
    made_folder(into)
    made: list[tuple[Parcel, tuple[Path, ...]]] = []
    with out_of_sight(into) as hidden:
        warnings += _written(parcels, hidden, wish, failed, progress)
        for parcel in parcels:
            if parcel.source not in failed:
                with _noted(parcel.source, failed):
                    files = brought_in(hidden / parcel.folder, into / parcel.folder)
                    made.append((parcel, files))
        if made:
            page = pack_page([_packed(parcel) for parcel, _ in made])
            write_bytes_safely(into / PAGE, page.encode("utf-8"))
    return _told(made, into, failed, warnings)


def _check(wish: PackWish) -> None:
    """Refuse what would go wrong in every passage alike."""
    if not SLOWEST_SPEED <= wish.slowest <= 1:
        raise RequestError(
            f"the slowest tempo must be {SLOWEST_SPEED:g} to 1 times the written one, got "
            f"{wish.slowest:g}"
        )
    ladder(1.0, slowest=wish.slowest, rungs=wish.rungs)
    kind_of(Path(f"track.{wish.ending}"))
    if wish.bars is not None:
        bar_range(wish.bars)
    if wish.files != NO_FILES:
        if Layer.ACCOMPANIMENT not in wish.heard:
            raise RequestError("add accompaniment to --layers, so that the recording is heard")
        if len(wish.passages) > 1:
            raise RequestError(
                "--accompaniment and --beats are of one passage: name each recording in its drill"
            )
    own = OwnVoice(wish.voice, beat_point) if wish.voice is not None else None
    sayable(wish.language, ("1",), voice=own)


def _sources(wish: PackWish, failed: Failed) -> list[Path]:
    """Return every drill file once, in the order asked for."""
    found: dict[Path, Path] = {}
    for name in wish.passages:
        with _noted(name, failed, alone=len(wish.passages) == 1):
            for path in drills_at(name):
                found.setdefault(path.resolve(), path)
    return list(found.values())


def _parcels(sources: list[Path], wish: PackWish, failed: Failed) -> tuple[list[Parcel], list[str]]:
    """Return what is to be packed, and what to say of passages whose names clash."""
    read: list[tuple[Path, Passage, Beside | None]] = []
    said: list[str] = []
    for path in sources:
        with _noted(str(path), failed, alone=len(wish.passages) == len(sources) == 1):
            read.append((path, *_found(str(path), wish, said)))
    names = [safe_name(path.stem) for path, _, _ in read]
    parcels, warnings = [], [*said]
    for (path, passage, beside), name, folder in zip(
        read, names, distinct(names, taken=(PAGE,)), strict=True
    ):
        tempi = ladder(passage.tempo, slowest=wish.slowest, rungs=wish.rungs)
        without = NOT_BESIDE if beside is not None else ()
        tracks = tuple(pack_tracks(tempi, wish.ending, without=without))
        parcels.append(Parcel(str(path), passage, folder, tempi, tracks, beside))
        if folder != name:
            warnings.append(clash_words(str(path), name, folder))
    return parcels, warnings


def _found(name: str, wish: PackWish, said: list[str]) -> tuple[Passage, Beside | None]:
    """Return a passage, and its recording where that is to be heard.

    With several passages, a part is asked of those that are scores.
    """
    scores = len(wish.passages) == 1 or is_score(name)
    part, cue_part = (wish.part, wish.cue_part) if scores else (None, None)
    passage = find_passage(
        name,
        wish.bars,
        part=part,
        cue_part=cue_part,
        say=lambda sentence: said.append(f"{name}: {sentence}"),
    )
    if Layer.ACCOMPANIMENT not in wish.heard:
        return passage, None
    whole = whole_passage(name, part=part, cue_part=cue_part)
    beside = Beside(name, whole, wish.files)
    return at_recorded_tempo(passage, beside), beside


def _written(
    parcels: list[Parcel], hidden: Path, wish: PackWish, failed: Failed, progress: Progress
) -> list[str]:
    """Write every file into ``hidden``, and return the words that were left unsaid."""
    jobs: list[TrackJob] = []
    sources: list[str] = []
    for parcel in parcels:
        folder = hidden / parcel.folder
        with told_plainly(folder):
            folder.mkdir()
        for track in parcel.tracks:
            output = folder / track.file
            jobs.append(TrackJob(parcel.passage, track, output, wish, parcel.beside))
            sources.append(parcel.source)
    unsaid: dict[str, None] = {}
    for source, outcome in zip(sources, on_all_cores(_write, jobs, progress), strict=True):
        if isinstance(outcome, RhythmtrainError):
            failed.setdefault(source, str(outcome))
        else:
            unsaid |= dict.fromkeys(outcome)
    return list(unsaid)


def _write(job: TrackJob, progress: Progress) -> tuple[str, ...]:
    wish = job.wish
    pieces: tuple[Played, ...] = ()
    if job.beside is None:
        plan = pack_plan(job.passage, job.track, wish.heard)
    else:
        plan, pieces = recorded_track(job.passage, job.track, wish.heard, job.beside)
    return _sounded(plan, pieces, job, progress)


def _sounded(
    plan: Plan, pieces: tuple[Played, ...], job: TrackJob, progress: Progress
) -> tuple[str, ...]:
    """Write a plan with its recordings, if any; return what was left unsaid."""
    language, voice = job.wish.language, job.wish.voice
    if pieces and job.track.step is not None:
        spoken = TrackWish("", language=language, voice=voice)
        return write_recorded(
            plan, pieces, job.output, wish=spoken, quality=RECORDED, progress=progress
        )
    return write_track(
        plan, job.output, language=language, voice=voice, quality=HANDED_OUT, progress=progress
    )


@contextmanager
def _noted(source: str, failed: Failed, *, alone: bool = False) -> Iterator[None]:
    """Note what goes wrong with ``source`` and go on; raise it where nothing else was asked for."""
    try:
        yield
    except RhythmtrainError as error:
        if alone:
            raise
        failed[source] = str(error)


def _packed(parcel: Parcel) -> PackedPassage:
    """Return what the page says and plays of a passage."""
    passage = parcel.passage
    words = {tempo: tempo_words(passage, tempo / passage.tempo) for tempo in parcel.tempi}
    return PackedPassage(
        passage,
        parcel.folder,
        tracks=tuple(
            PackedTrack(track.step, words[track.tempo], f"{parcel.folder}/{track.file}")
            for track in parcel.tracks
            if track.step is not None
        ),
        midi=tuple(
            (words[track.tempo], f"{parcel.folder}/{track.file}")
            for track in parcel.tracks
            if track.step is None
        ),
    )


def _told(
    made: list[tuple[Parcel, tuple[Path, ...]]], into: Path, failed: Failed, warnings: list[str]
) -> Told:
    page = into / PAGE
    files = tuple(file for _, brought in made for file in brought) + ((page,) if made else ())
    document = {
        "page": str(page) if made else None,
        "passages": [
            {
                "name": Path(parcel.source).stem,
                "title": parcel.passage.title,
                "folder": str(into / parcel.folder),
                "tempi": list(parcel.tempi),
                "files": [file.name for file in brought],
            }
            for parcel, brought in made
        ],
        "failed": [{"passage": passage, "why": why} for passage, why in failed.items()],
    }
    ladders = [(parcel.folder, value_words(parcel.passage), parcel.tempi) for parcel, _ in made]
    size = size_words(len(files), sum(file.stat().st_size for file in files))
    text = made_text(ladders, page=str(page), size=size)
    failure = failed_words(tuple(failed.items()), len(failed) + len(made)) if failed else ""
    return Told(text, document, files, tuple(warnings), failure)
