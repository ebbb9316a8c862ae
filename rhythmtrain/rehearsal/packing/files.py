"""The files of one packed passage, each written by itself, on whichever core is free."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from rhythmtrain.rehearsal.entering.one_try import Goal
from rhythmtrain.rehearsal.packing.entry import EntryTrack, entry_plan
from rhythmtrain.rehearsal.packing.recorded import RECORDED, Beside, Sounded, ladder_track
from rhythmtrain.rehearsal.packing.tracks import PackTrack
from rhythmtrain.rehearsal.packing.wish import PackWish
from rhythmtrain.rehearsal.told import Progress
from rhythmtrain.rehearsal.tracks.model import Taught
from rhythmtrain.rehearsal.tracks.sound import Quality, Spoken, write_track
from rhythmtrain.score.passage import Passage
from rhythmtrain.units import Bpm

# Small enough to send: one channel, at the rate of the spoken words.  A clap keeps its place and its
# sharp beginning (measured on MP3, see tests/rehearsal/packing/test_pack.py).
HANDED_OUT = Quality(rate=24_000, channels=1)


@dataclass(frozen=True, slots=True)
class Parcel:
    """One passage to pack: where it came from, the folder it gets, its ladder and files.

    ``goal`` is the entry to be practised, where ``tries`` are packed and not a ladder's ``tracks``.
    ``beside`` is the recording it is played with, ``taught`` the passage whose model is heard.  ``part``
    and ``cue_part`` are those asked of a score, ``cue`` what is said of the entry's cue.
    """

    source: str
    passage: Passage
    folder: str = ""
    tempi: tuple[Bpm, ...] = ()
    tracks: tuple[PackTrack, ...] = ()
    beside: Beside | None = None
    taught: Taught | None = None
    goal: Goal | None = None
    tries: tuple[EntryTrack, ...] = ()
    part: str | None = None
    cue_part: str | None = None
    cue: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class TrackJob:
    """One file for another process to write."""

    parcel: Parcel
    track: PackTrack | EntryTrack
    output: Path
    wish: PackWish
    answer: bool = False


def jobs_of(parcel: Parcel, folder: Path, wish: PackWish) -> Iterator[TrackJob]:
    """Yield every file of ``parcel``, to be written into ``folder``."""
    for track in parcel.tracks:
        yield TrackJob(parcel, track, folder / track.file, wish)
    for each in parcel.tries:
        yield TrackJob(parcel, each, folder / each.file, wish)
        yield TrackJob(parcel, each, folder / each.answer, wish, answer=True)


def write_job(job: TrackJob, progress: Progress) -> tuple[str, ...]:
    """Write the file of ``job``, and return what was left unsaid.

    Raises:
        RhythmtrainError: what a person is to be told.
    """
    plan, pieces = planned_job(job)
    return write_track(
        plan,
        job.output,
        pieces=pieces,
        spoken=Spoken(job.wish.language, job.wish.voice),
        quality=RECORDED if pieces else HANDED_OUT,
        progress=progress,
    )


def planned_job(job: TrackJob) -> Sounded:
    """Return what one hears in the file of ``job``, and the pieces of its recordings."""
    parcel, track = job.parcel, job.track
    if isinstance(track, PackTrack):
        return ladder_track(
            parcel.passage, track, job.wish.heard, beside=parcel.beside, taught=parcel.taught
        )
    return entry_plan(track, parcel.beside, answer=job.answer)
